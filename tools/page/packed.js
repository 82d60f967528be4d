// SPDX-License-Identifier: GPL-3.0-or-later
// packed.js - reads numbers as tools/page/packed.h packs them. It does so at once, without a
// promise, so that any moment can be asked for as soon as the page is there.
'use strict';

const packed = (() => {
    /**
     * @param {string} text base64 without line ends
     * @returns {Uint8Array}
     */
    function bytesOf(text) {
        const binary = atob(text);
        const bytes = new Uint8Array(binary.length);
        for (let i = 0; i < binary.length; i++) bytes[i] = binary.charCodeAt(i);
        return bytes;
    }

    // Lengths and distances of RFC 1951, 3.2.5: the least of each code, and its extra bits.
    const LENGTH_BASE = [
        3,  4,  5,  6,  7,  8,  9,  10, 11,  13,  15,  17,  19,  23, 27,
        31, 35, 43, 51, 59, 67, 83, 99, 115, 131, 163, 195, 227, 258
    ];
    const LENGTH_BITS =
        [0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 0];
    const DISTANCE_BASE = [
        1,   2,   3,   4,   5,   7,    9,    13,   17,   25,   33,   49,   65,    97,    129,
        193, 257, 385, 513, 769, 1025, 1537, 2049, 3073, 4097, 6145, 8193, 12289, 16385, 24577
    ];
    const DISTANCE_BITS = [
        0, 0, 0, 0, 1, 1, 2, 2,  3,  3,  4,  4,  5,  5,  6,
        6, 7, 7, 8, 8, 9, 9, 10, 10, 11, 11, 12, 12, 13, 13
    ];
    const ORDER = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];

    /**
     * A Huffman code by the lengths of its words (RFC 1951, 3.2.2): how many there are of each
     * length, and the symbols in the order of their words.
     * @param {number[] | Uint8Array} lengths
     */
    function codeOf(lengths) {
        const count = new Uint16Array(16);
        const start = new Uint16Array(16);
        const symbol = new Uint16Array(lengths.length);
        for (const length of lengths) count[length]++;
        count[0] = 0;
        for (let i = 1; i < 16; i++) start[i] = start[i - 1] + count[i - 1];
        for (let i = 0; i < lengths.length; i++)
            if (lengths[i] !== 0) symbol[start[lengths[i]]++] = i;
        return {count, symbol};
    }

    const FIXED = (() => {
        const lengths = new Uint8Array(288);
        for (let i = 0; i < 288; i++) lengths[i] = i < 144 ? 8 : i < 256 ? 9 : i < 280 ? 7 : 8;
        return {literal: codeOf(lengths), distance: codeOf(new Uint8Array(30).fill(5))};
    })();

    /**
     * @param {Uint8Array} input deflated, perhaps with bytes after its end
     * @returns {Uint8Array}
     */
    function inflate(input) {
        let at = 0, held = 0, heldBits = 0, length = 0;
        let output = new Uint8Array(Math.max(1024, input.length * 4));

        /** @param {number} count at most 16 */
        function bits(count) {
            while (heldBits < count) {
                if (at >= input.length) throw new Error('the recording is cut short');
                held |= input[at++] << heldBits;
                heldBits += 8;
            }
            const value = held & ((1 << count) - 1);
            held >>>= count;
            heldBits -= count;
            return value;
        }

        /** @param {{count: Uint16Array, symbol: Uint16Array}} code */
        function symbol(code) {
            let word = 0, first = 0, index = 0;
            for (let i = 1; i < 16; i++) {
                word |= bits(1);
                const count = code.count[i];
                if (word - count < first) return code.symbol[index + (word - first)];
                index += count;
                first = (first + count) << 1;
                word <<= 1;
            }
            throw new Error('the recording is damaged');
        }

        /** @param {number} more bytes */
        function grow(more) {
            if (length + more <= output.length) return;
            const larger = new Uint8Array(Math.max(output.length * 2, length + more));
            larger.set(output);
            output = larger;
        }

        function stored() {
            held = heldBits = 0;
            const count = input[at] | (input[at + 1] << 8);
            at += 4;
            grow(count);
            output.set(input.subarray(at, at + count), length);
            at += count;
            length += count;
        }

        function dynamicCodes() {
            const literals = bits(5) + 257, distances = bits(5) + 1, words = bits(4) + 4;
            const lengths = new Uint8Array(19);
            for (let i = 0; i < words; i++) lengths[ORDER[i]] = bits(3);
            const code = codeOf(lengths);
            const all = new Uint8Array(literals + distances);
            for (let i = 0; i < all.length;) {
                const next = symbol(code);
                if (next < 16) {
                    all[i++] = next;
                    continue;
                }
                const repeated = next === 16 ? all[i - 1] : 0;
                let count = next === 16 ? 3 + bits(2) : next === 17 ? 3 + bits(3) : 11 + bits(7);
                while (count-- > 0) all[i++] = repeated;
            }
            return {
                literal: codeOf(all.subarray(0, literals)),
                distance: codeOf(all.subarray(literals))
            };
        }

        /** @param {typeof FIXED} codes */
        function block(codes) {
            for (;;) {
                const next = symbol(codes.literal);
                if (next === 256) return;
                if (next < 256) {
                    grow(1);
                    output[length++] = next;
                    continue;
                }
                const count = LENGTH_BASE[next - 257] + bits(LENGTH_BITS[next - 257]);
                const word = symbol(codes.distance);
                const distance = DISTANCE_BASE[word] + bits(DISTANCE_BITS[word]);
                grow(count);
                for (let i = 0; i < count; i++, length++)
                    output[length] = output[length - distance];
            }
        }

        for (let last = 0; last === 0;) {
            last = bits(1);
            const kind = bits(2);
            if (kind === 0)
                stored();
            else
                block(kind === 1 ? FIXED : dynamicCodes());
        }
        return output.subarray(0, length);
    }

    /** Numbers one after another. */
    class Reader {
        /** @param {Uint8Array} bytes */
        constructor(bytes) {
            this.bytes = bytes;
            this.at = 0;
        }

        get ended() {
            return this.at >= this.bytes.length;
        }

        /** @returns {number} */
        next() {
            let value = 0, scale = 1;
            for (;;) {
                const byte = this.bytes[this.at++];
                value += (byte & 127) * scale;
                if (byte < 128) return value;
                scale *= 128;
            }
        }

        /** @returns {number} */
        nextSigned() {
            const value = this.next();
            return value % 2 === 0 ? value / 2 : -(value + 1) / 2;
        }

        /** A list with its length before it, of differences. */
        list() {
            const values = new Float64Array(this.next());
            for (let i = 0, before = 0; i < values.length; i++)
                values[i] = before += this.nextSigned();
            return values;
        }
    }

    return {
        /** @param {string} text */
        reader: (text) => new Reader(inflate(bytesOf(text))),
        inflate,
    };
})();
