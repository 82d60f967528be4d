// SPDX-License-Identifier: GPL-3.0-or-later
// playback.js - the workshop at any recorded moment: takes the frame of a piece and goes on with
// what changed (tools/page/recording.h), and steps belts by the engine's arithmetic. Nothing is
// made up in between.
'use strict';

/**
 * @typedef {{name: string, length: number}} Item
 * @typedef {{name: string, cells: number, pace: [number, number], first: number, lanes: string[]}}
 * Loop
 * @typedef {{name: string, cells: number, pace: [number, number]}} Line
 * @typedef {{name: string, capacity: number | null, capacities: Steps, limits: [number,
 *     number][]}} Chest
 * @typedef {{name: string, takes: [number, number][], makes: [number, number][], time: number,
 *     varies: boolean}} Station
 * @typedef {{kind: 'chest' | 'station' | 'lane' | 'line', index: number, cell: number}} Place
 * @typedef {{name: string, from: Place, to: Place, hand: number, swing: number,
 *     items: number[]}} Arm
 * @typedef {{name: string, chest: number, item: number, every: number, outlet: boolean}} Stream
 * @typedef {{reads: string, subject: number, item: number | null, below: boolean,
 *     threshold: number, thresholds: Steps}} Leaf
 * @typedef {{kind: 'arm' | 'station' | 'supply', owner: number, text: string, leaves: Leaf[]}} Gate
 * @typedef {{title: string, ticks_per_second: number, warm_up: number, every: number, first:
 * number, last: number, items: Item[], loops: Loop[], lines: Line[], tracks: string[], chests:
 * Chest[], stations: Station[], arms: Arm[], supplies: Stream[], demands: Stream[], gates: Gate[],
 *     pieces: [number, number, number, number][],
 *     series: {tracks: number[][], counts: number[], items: number[]}}} Plan
 * @typedef {{kind: 'pick' | 'place', arm: number, item: number, count: number, tick: number}} Move
 */

const ARM_STATES = ['reaching', 'carrying', 'placing', 'returning', 'stopped'];
const STATION_STATES = ['working', 'starved', 'blocked', 'gated', 'stopped'];

/** Everything there is after one tick. */
class Moment {
    /** @param {Plan} plan */
    constructor(plan) {
        this.plan = plan;
        this.tick = -1;
        this.armState = new Uint8Array(plan.arms.length);
        this.armSince = new Float64Array(plan.arms.length);
        /** @type {[number, number][][]} item and count, in the order of picking */
        this.hand = plan.arms.map(() => []);
        this.stationState = new Uint8Array(plan.stations.length);
        this.stationSince = new Float64Array(plan.stations.length);
        /** -1: not known */
        this.batchSince = new Float64Array(plan.stations.length);
        this.belts = [...plan.loops, ...plan.lines].map(
            (belt) =>
                ({cells: belt.cells, pace: belt.pace, startTick: 0, startStep: 0, running: true}));
        const lanes = plan.tracks.length - plan.lines.length;
        /** The belt of each track. */
        this.beltOf = plan.tracks.map(
            (_, track) => track < lanes ?
                plan.loops.findIndex((loop) => track < loop.first + loop.lanes.length) :
                plan.loops.length + track - lanes);
        /**
         * Item plus 1 at each slot of a lane, by where it rides on the belt: at cell
         * (step - slot) mod cells.
         */
        this.slots =
            this.beltOf.slice(0, lanes).map((belt) => new Int32Array(this.belts[belt].cells));
        /** @type {{item: number, head: number}[][]} of each line, from its head end down */
        this.queues = plan.lines.map(() => []);
        this.lineStep = new Float64Array(plan.lines.length);
        this.gateOpen = new Uint8Array(plan.gates.length);
        this.firstInput = [];
        this.firstOutput = [];
        let counts = plan.chests.length * plan.items.length;
        for (const station of plan.stations) {
            this.firstInput.push(counts);
            counts += station.takes.length;
        }
        for (const station of plan.stations) {
            this.firstOutput.push(counts);
            counts += station.makes.length;
        }
        this.count = new Float64Array(counts);
    }

    /** Steps that a belt has made by a tick. @param {number} belt @param {number} tick */
    stepAt(belt, tick) {
        const {pace: [steps, ticks], startTick, startStep, running} = this.belts[belt];
        if (!running) return startStep;
        const product = (tick - startTick) * steps;
        if (product <= Number.MAX_SAFE_INTEGER) return startStep + Math.floor(product / ticks);
        return startStep + Number(BigInt(tick - startTick) * BigInt(steps) / BigInt(ticks));
    }

    /** Slot at a cell of a lane. @param {number} lane @param {number} cell @param {number} tick */
    slotAt(lane, cell, tick) {
        const cells = this.slots[lane].length;
        return (((this.stepAt(this.beltOf[lane], tick) - cell) % cells) + cells) % cells;
    }

    /**
     * Lines roll on: a step moves each item whose next cell is free, from the head end down.
     * @param {number} tick
     */
    roll(tick) {
        const lanes = this.slots.length;
        for (let line = 0; line < this.queues.length; line++) {
            const belt = this.beltOf[lanes + line], queue = this.queues[line];
            const last = this.belts[belt].cells - 1, step = this.stepAt(belt, tick);
            for (let moved = true; moved && this.lineStep[line] < step; this.lineStep[line]++) {
                moved = false;
                for (let i = 0, free = last; i < queue.length; i++) {
                    if (queue[i].head < free) {
                        queue[i].head++;
                        moved = true;
                    }
                    free = queue[i].head - this.plan.items[queue[i].item].length;
                }
            }
            this.lineStep[line] = step;
        }
    }

    /** @param {number} track @param {number} cell @param {number} item @param {number} tick */
    put(track, cell, item, tick) {
        if (track < this.slots.length) {
            this.slots[track][this.slotAt(track, cell, tick)] = item + 1;
            return;
        }
        const queue = this.queues[track - this.slots.length];
        const place = queue.findIndex((one) => one.head < cell);
        queue.splice(place < 0 ? queue.length : place, 0, {item, head: cell});
    }

    /** @param {number} track @param {number} cell @param {number} tick */
    take(track, cell, tick) {
        if (track < this.slots.length) {
            this.slots[track][this.slotAt(track, cell, tick)] = 0;
            return;
        }
        const queue = this.queues[track - this.slots.length];
        const place = queue.findIndex((one) => one.head === cell);
        if (place >= 0) queue.splice(place, 1);
    }

    /**
     * Items on a track by rising cell of the head. @param {number} track
     * @returns {{cell: number, item: number}[]}
     */
    itemsOn(track) {
        if (track >= this.slots.length)
            return this.queues[track - this.slots.length]
                .map(({item, head}) => ({cell: head, item}))
                .reverse();
        const slots = this.slots[track], cells = slots.length, found = [];
        const step = this.stepAt(this.beltOf[track], this.tick) % cells;
        for (let cell = 0; cell < cells; cell++) {
            const held = slots[(step - cell + cells) % cells];
            if (held > 0) found.push({cell, item: held - 1});
        }
        return found;
    }

    /** The track of a place, -1: none. @param {Place} place */
    trackOf(place) {
        return place.kind === 'lane' ? place.index :
            place.kind === 'line'    ? this.slots.length + place.index :
                                       -1;
    }

    /**
     * Where a count of a chest or stock stands, -1: nowhere. @param {Place} place
     * @param {number} item @param {boolean} taken
     */
    countAt(place, item, taken) {
        if (place.kind === 'chest') return place.index * this.plan.items.length + item;
        const station = this.plan.stations[place.index];
        const list = taken ? station.makes : station.takes;
        const found = list.findIndex((one) => one[0] === item);
        return found < 0 ? -1 : (taken ? this.firstOutput : this.firstInput)[place.index] + found;
    }

    /** @param {number} arm */
    held(arm) {
        return this.hand[arm].reduce((sum, [, count]) => sum + count, 0);
    }
}

/** Goes to any recorded tick. */
class Playback {
    /** @param {Plan} plan @param {string} text the pieces, in base64 */
    constructor(plan, text) {
        this.plan = plan;
        this.text = text;
        /**
         * @type {{first: number, last: number, whole: boolean, sampled: boolean, frame: string,
         *     changes: string}[]}
         */
        this.pieces = [];
        let at = 0;
        for (const [first, last, frame, changes] of plan.pieces) {
            const middle = at + frame / 3 * 4, end = middle + changes / 3 * 4;
            this.pieces.push({
                first,
                last,
                whole: changes > 0,
                sampled: frame > 0,
                frame: text.slice(at, middle),
                changes: text.slice(middle, end)
            });
            at = end;
        }
        this.moment = new Moment(plan);
        this.piece = -1;
        /** @type {Map<number, InstanceType<any>>} changes of pieces that were used lately */
        this.unpacked = new Map();
        this.reader = /** @type {any} */ (null);
        this.nextTick = Infinity;
        /**
         * Called for each pick, before it is done, and each place, after it.  @type {((move: Move)
         * => void) | null}
         */
        this.onMove = null;
        const base = plan.arms.length;
        this.codes = {
            station: base,
            belt: base + plan.stations.length,
            track: base + plan.stations.length + this.moment.belts.length,
            gate: base + plan.stations.length + this.moment.belts.length + plan.tracks.length,
            count: base + plan.stations.length + this.moment.belts.length + plan.tracks.length +
                plan.gates.length,
        };
    }

    /** First and last tick of what is recorded in full. @returns {[number, number][]} */
    get stretches() {
        /** @type {[number, number][]} */
        const found = [];
        for (const piece of this.pieces) {
            const before = found[found.length - 1];
            if (!piece.whole) continue;
            if (before !== undefined && before[1] === piece.first - 1)
                before[1] = piece.last;
            else
                found.push([piece.first, piece.last]);
        }
        return found;
    }

    /** The piece that has a tick. @param {number} tick */
    pieceAt(tick) {
        let low = 0, high = this.pieces.length;
        while (high - low > 1) {
            const middle = (low + high) >> 1;
            if (this.pieces[middle].first <= tick)
                low = middle;
            else
                high = middle;
        }
        return low;
    }

    /** Whether a tick is recorded in full. @param {number} tick */
    knows(tick) {
        return Number.isSafeInteger(tick) && tick >= this.plan.first && tick <= this.plan.last &&
            this.pieces[this.pieceAt(tick)].whole;
    }

    /** The nearest tick that can be shown, not after `tick` if possible. @param {number} tick */
    nearest(tick) {
        const bounded = Math.min(Math.max(Math.round(tick), this.plan.first), this.plan.last);
        let piece = this.pieceAt(bounded);
        if (this.pieces[piece].whole) return bounded;
        while (piece > 0 && !this.pieces[piece].sampled) piece--;
        return this.pieces[piece].whole ? this.pieces[piece].last : this.pieces[piece].first;
    }

    /**
     * Goes to a tick that is recorded in full, or the first of a sampled piece.
     * @param {number} tick @returns {Moment}
     */
    seek(tick) {
        const piece = this.pieceAt(tick);
        if (!this.knows(tick) && !(this.pieces[piece].sampled && this.pieces[piece].first === tick))
            throw new RangeError(`tick ${tick} is not recorded`);
        if (piece !== this.piece || tick < this.moment.tick) this.load(piece);
        this.advance(tick);
        return this.moment;
    }

    /** @param {number} index */
    load(index) {
        const piece = this.pieces[index];
        this.piece = index;
        this.readFrame(packed.reader(piece.frame), piece.first);
        if (!this.unpacked.has(index)) {
            if (this.unpacked.size > 40)
                this.unpacked.delete(/** @type {number} */ (this.unpacked.keys().next().value));
            this.unpacked.set(index, piece.whole ? packed.reader(piece.changes) : null);
        }
        this.reader = this.unpacked.get(index);
        if (this.reader !== null) this.reader.at = 0;
        this.readNextTick();
    }

    readNextTick() {
        this.nextTick = this.reader === null || this.reader.ended ?
            Infinity :
            this.moment.tick + this.reader.next();
    }

    /** @param {InstanceType<any>} reader @param {number} tick */
    readFrame(reader, tick) {
        const moment = this.moment, {plan} = this;
        moment.tick = tick;
        for (let arm = 0; arm < plan.arms.length; arm++) {
            moment.armState[arm] = reader.next();
            moment.armSince[arm] = tick - reader.next();
            moment.hand[arm] = [];
            for (let kinds = reader.next(); kinds > 0; kinds--)
                moment.hand[arm].push([reader.next(), reader.next()]);
        }
        for (let station = 0; station < plan.stations.length; station++) {
            moment.stationState[station] = reader.next();
            moment.stationSince[station] = tick - reader.next();
            const age = reader.next();
            moment.batchSince[station] = age === 0 ? -1 : tick - age + 1;
        }
        for (let belt = 0; belt < moment.belts.length; belt++) this.readBelt(reader, belt);
        for (let line = 0; line < plan.lines.length; line++)
            moment.lineStep[line] = moment.stepAt(plan.loops.length + line, tick);
        for (let track = 0; track < plan.tracks.length; track++) this.readTrack(reader, track);
        for (let gate = 0; gate < plan.gates.length; gate++) moment.gateOpen[gate] = reader.next();
        moment.count.fill(0);
        for (let held = reader.next(), index = 0; held > 0; held--) {
            index += reader.next();
            moment.count[index] = reader.next();
        }
    }

    /** @param {InstanceType<any>} reader @param {number} index */
    readBelt(reader, index) {
        const belt = this.moment.belts[index];
        belt.startTick = reader.nextSigned();
        belt.startStep = reader.next();
        belt.running = reader.next() === 1;
    }

    /** @param {InstanceType<any>} reader @param {number} track */
    readTrack(reader, track) {
        const moment = this.moment, lanes = moment.slots.length;
        if (track < lanes)
            moment.slots[track].fill(0);
        else
            moment.queues[track - lanes] = [];
        for (let items = reader.next(), cell = 0; items > 0; items--) {
            cell += reader.next();
            moment.put(track, cell, reader.next(), moment.tick);
        }
    }

    /** @param {number} tick not before the moment's, in its piece */
    advance(tick) {
        const moment = this.moment;
        while (this.nextTick <= tick) {
            moment.tick = this.nextTick;
            moment.roll(moment.tick);
            for (let changes = this.reader.next(); changes > 0; changes--) this.change();
            this.readNextTick();
        }
        moment.tick = tick;
        moment.roll(tick);
    }

    change() {
        const {moment, reader, codes} = this, code = reader.next();
        if (code < codes.station) {
            this.changeArm(code);
        } else if (code < codes.belt) {
            moment.stationState[code - codes.station] = reader.next();
            moment.stationSince[code - codes.station] = moment.tick;
        } else if (code < codes.track) {
            this.readBelt(reader, code - codes.belt);
        } else if (code < codes.gate) {
            this.readTrack(reader, code - codes.track);
        } else if (code < codes.count) {
            moment.gateOpen[code - codes.gate] = reader.next();
        } else {
            this.changeCount(code - codes.count, reader.nextSigned());
        }
    }

    /** Where inputs go, a batch begins. @param {number} index @param {number} difference */
    changeCount(index, difference) {
        const moment = this.moment;
        moment.count[index] += difference;
        if (difference > 0 || index < this.plan.chests.length * this.plan.items.length) return;
        for (let station = 0; station < this.plan.stations.length; station++) {
            const first = moment.firstInput[station];
            if (index >= first && index < first + this.plan.stations[station].takes.length)
                moment.batchSince[station] = moment.tick;
        }
    }

    /** @param {number} arm */
    changeArm(arm) {
        const {moment, reader} = this, flags = reader.next(), state = flags & 7;
        const plan = this.plan.arms[arm];
        const picked = (flags & 8) !== 0, placed = (flags & 16) !== 0,
              placedFirst = (flags & 32) !== 0;
        const from = moment.trackOf(plan.from), to = moment.trackOf(plan.to);
        const pickItem = picked ? reader.next() : -1;
        const pickCount = picked && from < 0 ? reader.next() : 1;
        const placeItem = placed && to >= 0 ? reader.next() : -1;
        if (placed && placedFirst) this.place(arm, to, placeItem);
        if (picked) this.pick(arm, from, pickItem, pickCount);
        if (placed && !placedFirst) this.place(arm, to, placeItem);
        if (state !== moment.armState[arm]) moment.armSince[arm] = moment.tick;
        moment.armState[arm] = state;
    }

    /** @param {number} arm @param {number} track @param {number} item @param {number} count */
    pick(arm, track, item, count) {
        const {moment} = this, {from} = this.plan.arms[arm], hand = moment.hand[arm];
        if (this.onMove !== null) this.onMove({kind: 'pick', arm, item, count, tick: moment.tick});
        if (track >= 0)
            moment.take(track, from.cell, moment.tick);
        else
            moment.count[moment.countAt(from, item, true)] -= count;
        const kind = hand.find((one) => one[0] === item);
        if (kind !== undefined)
            kind[1] += count;
        else
            hand.push([item, count]);
    }

    /**
     * Onto a track one item, else all of the hand. @param {number} arm @param {number} track
     * @param {number} item
     */
    place(arm, track, item) {
        const {moment} = this, {to} = this.plan.arms[arm], hand = moment.hand[arm];
        if (track >= 0) {
            moment.put(track, to.cell, item, moment.tick);
            if (this.onMove !== null)
                this.onMove({kind: 'place', arm, item, count: 1, tick: moment.tick});
            const kind = hand.find((one) => one[0] === item);
            if (kind !== undefined && --kind[1] === 0) hand.splice(hand.indexOf(kind), 1);
            return;
        }
        for (const [kind, count] of hand) {
            if (this.onMove !== null)
                this.onMove({kind: 'place', arm, item: kind, count, tick: moment.tick});
            moment.count[moment.countAt(to, kind, false)] += count;
        }
        moment.hand[arm] = [];
    }

    /**
     * The ticks after `from`, up to `until`, in which an arm picks or places; in one piece.
     * @param {number} piece @returns {number[]}
     */
    movesIn(piece) {
        /** @type {number[]} */
        const ticks = [];
        if (!this.pieces[piece].whole) return ticks;
        const other = new Playback(this.plan, '');
        other.pieces = this.pieces;
        other.onMove = (move) => {
            if (ticks[ticks.length - 1] !== move.tick) ticks.push(move.tick);
        };
        other.seek(this.pieces[piece].last);
        return ticks;
    }
}

/**
 * All that is there, by names: for scripts.
 * @param {Moment} moment
 */
function describeMoment(moment) {
    const {plan} = moment;
    /** @param {[number, number][]} pairs */
    const counted = (pairs) => {
        /** @type {Record<string, number>} */
        const object = {};
        for (const [item, count] of pairs)
            if (count !== 0)
                object[plan.items[item].name] = (object[plan.items[item].name] ?? 0) + count;
        return object;
    };
    /** @type {Record<string, [number, string][]>} */
    const lanes = {};
    /** @type {Record<string, Record<string, number>>} */
    const hands = {};
    /** @type {Record<string, Record<string, number>>} */
    const levels = {};
    /** @type {Record<string, string>} */
    const arms = {};
    /** @type {Record<string, string>} */
    const stations = {};
    plan.tracks.forEach((name, track) => {
        lanes[name] = moment.itemsOn(track).map(({cell, item}) => [cell, plan.items[item].name]);
    });
    plan.arms.forEach(({name}, arm) => {
        if (moment.held(arm) > 0) hands[name] = counted(moment.hand[arm]);
        arms[name] = ARM_STATES[moment.armState[arm]];
    });
    plan.chests.forEach(({name}, chest) => {
        const items = plan.items.length;
        levels[name] =
            counted(plan.items.map((_, item) => [item, moment.count[chest * items + item]]));
    });
    plan.stations.forEach(({name, takes, makes}, station) => {
        levels[`${name}/in`] =
            counted(takes.map(([item], i) => [item, moment.count[moment.firstInput[station] + i]]));
        levels[`${name}/out`] = counted(
            makes.map(([item], i) => [item, moment.count[moment.firstOutput[station] + i]]));
        stations[name] = STATION_STATES[moment.stationState[station]];
    });
    return {lanes, hands, levels, arms, stations};
}
