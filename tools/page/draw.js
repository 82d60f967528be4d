// SPDX-License-Identifier: GPL-3.0-or-later
// draw.js - draws a moment of the workshop on a canvas, as far as it is in view, and says what is
// under a point.
'use strict';

/**
 * @typedef {{kind: 'arm' | 'chest' | 'station', index: number} |
 *     {kind: 'item', track: number, cell: number, item: number}} Target
 */

const HAND_AT = [0.13, 0.6, 0.88, 0.66, 0.6];  // along an arm's way, by its state
const HAND_SIZE = 8.5;

class Sheet {
    /**
     * @param {HTMLCanvasElement} canvas @param {Layout} layout @param {number[][]} kinds of items
     * that are ever in each chest @param {number[]} scales the most that is ever in each count
     */
    constructor(canvas, layout, kinds, scales) {
        this.canvas = canvas;
        this.layout = layout;
        this.plan = layout.plan;
        this.kinds = kinds;
        this.scales = scales;
        this.letters = lettersOf(this.plan.items);
        this.marks = this.plan.items.map((_, item) => markOf(item));
        this.links = this.plan.arms.map((_, arm) => layout.link(arm));
        /** @type {number[]} which place the text of each arm has, as far as it was asked for */
        this.sides = [];
        /** @type {{x: number, y: number, w: number, h: number}[]} of those, each with two rows */
        this.texts = [];
        this.gates = this.plan.arms.map((_, arm) => gateOf(this.plan, 'arm', arm));
        this.thresholds = this.plan.chests.map(
            (_, chest) => this.plan.gates.flatMap(
                (gate) => gate.leaves.filter(
                    (leaf) => leaf.reads === 'chest' && leaf.subject === chest)));
        this.supplied = this.plan.chests.map(
            (_, chest) => this.plan.supplies.some((one) => one.chest === chest));
        this.demanded = this.plan.chests.map(
            (_, chest) => this.plan.demands.some((one) => one.chest === chest));
        this.scale = 1;
        this.left = 0;
        this.top = 0;
        this.width = 0;
        this.height = 0;
        /** @type {number | null} the only item to be shown */
        this.only = null;
        /** @type {Target | null} */
        this.chosen = null;
        /** @type {Point | null} where the item is that is followed */
        this.followed = null;
        this.context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
        /** All of the sheet is in view. */
        this.isWhole = true;
        this.ink = this.colours();
    }

    colours() {
        const style = getComputedStyle(document.documentElement);
        const of = (/** @type {string} */ name) => style.getPropertyValue(name).trim();
        return {
            paper: of('--paper'),
            text: of('--text'),
            quiet: of('--quiet'),
            line: of('--line'),
            belt: of('--belt'),
            edge: of('--edge'),
            box: of('--box'),
            bar: of('--bar'),
            alarm: of('--alarm'),
            alarmText: of('--alarm-text'),
            good: of('--good'),
            chosen: of('--chosen'),
            wait: of('--wait')
        };
    }

    /** Fits the canvas to its place, and all of the sheet into it. */
    resize() {
        const box = this.canvas.getBoundingClientRect(), ratio = window.devicePixelRatio || 1;
        const before = this.width;
        this.width = box.width;
        this.height = box.height;
        this.canvas.width = Math.round(box.width * ratio);
        this.canvas.height = Math.round(box.height * ratio);
        if (before === 0 || this.isWhole) this.showAll();
        this.ink = this.colours();
    }

    showAll() {
        const {left, top, right, bottom} = this.layout.bounds;
        this.scale = Math.min(this.width / (right - left), this.height / (bottom - top), 2);
        this.left = (left + right) / 2 - this.width / this.scale / 2;
        this.top = (top + bottom) / 2 - this.height / this.scale / 2;
        this.isWhole = true;
    }

    /**
     * @param {number} factor @param {number} [x] of the canvas, what stays there @param {number}
     *     [y]
     */
    zoom(factor, x = this.width / 2, y = this.height / 2) {
        const scale = Math.min(Math.max(this.scale * factor, 0.004), 6);
        this.left += x / this.scale - x / scale;
        this.top += y / this.scale - y / scale;
        this.scale = scale;
        this.isWhole = false;
    }

    /** @param {number} x in pixels @param {number} y */
    pan(x, y) {
        this.left += x / this.scale;
        this.top += y / this.scale;
        this.isWhole = false;
    }

    /** @param {Point} point */
    centre(point) {
        this.left = point.x - this.width / this.scale / 2;
        this.top = point.y - this.height / this.scale / 2;
        this.isWhole = false;
    }

    /**
     * Whether something as large as `size` around a point can be seen. @param {number} x
     * @param {number} y @param {number} size
     */
    sees(x, y, size) {
        return x + size > this.left && y + size > this.top &&
            x - size < this.left + this.width / this.scale &&
            y - size < this.top + this.height / this.scale;
    }

    /** @param {Moment} moment */
    draw(moment) {
        const {context, ink} = this, ratio = window.devicePixelRatio || 1;
        context.setTransform(1, 0, 0, 1, 0, 0);
        context.fillStyle = ink.paper;
        context.fillRect(0, 0, this.canvas.width, this.canvas.height);
        const scale = this.scale * ratio;
        context.setTransform(scale, 0, 0, scale, -this.left * scale, -this.top * scale);
        context.textBaseline = 'middle';
        context.lineCap = 'butt';
        this.layout.outlines.forEach((outline, index) => this.drawBelt(outline, index, moment));
        for (let arm = 0; arm < this.links.length; arm++) this.drawLink(arm);
        for (const box of this.layout.boxes) this.drawBox(box, moment);
        this.layout.outlines.forEach((outline) => this.drawItems(outline, moment));
        for (let arm = 0; arm < this.links.length; arm++) this.drawHand(arm, moment);
        if (this.followed !== null) this.drawFollowed(this.followed);
    }

    // ---- belts ----

    /** @param {Outline} outline @param {number} out */
    trace(outline, out) {
        const {context} = this, half = outline.straight / 2, radius = outline.radius + out;
        context.beginPath();
        if (outline.isLine) {
            context.moveTo(outline.x - outline.length / 2, outline.y - out);
            context.lineTo(outline.x + outline.length / 2, outline.y - out);
            return;
        }
        context.moveTo(outline.x - half, outline.y - radius);
        context.lineTo(outline.x + half, outline.y - radius);
        context.arc(outline.x + half, outline.y, radius, -Math.PI / 2, Math.PI / 2);
        context.lineTo(outline.x - half, outline.y + radius);
        context.arc(outline.x - half, outline.y, radius, Math.PI / 2, Math.PI * 1.5);
        context.closePath();
    }

    /** @param {Outline} outline @param {number} index @param {Moment} moment */
    drawBelt(outline, index, moment) {
        const {context, ink} = this, lanes = outline.lanes.length;
        this.trace(outline, 0);
        context.lineWidth = Math.max(outline.band, 5 / this.scale);
        context.strokeStyle = ink.belt;
        context.stroke();
        context.lineWidth = Math.max(1.2, 0.6 / this.scale);
        context.strokeStyle = ink.edge;
        for (const side of [-1, 1]) {
            this.trace(outline, side * outline.band / 2);
            context.stroke();
        }
        context.lineWidth = 0.6;
        for (let lane = 1; lane < lanes; lane++) {
            this.trace(outline, (lanes / 2 - lane) * LANE_WIDTH);
            context.stroke();
        }
        if (outline.cell * this.scale > 4) this.drawCells(outline);
        this.drawName(outline, index, moment);
    }

    /** A short mark between cells, a number at each tenth. @param {Outline} outline */
    drawCells(outline) {
        const {context, ink} = this, edge = outline.band / 2;
        context.strokeStyle = ink.edge;
        context.lineWidth = 0.6;
        context.beginPath();
        for (let cell = 0; cell < outline.cells; cell++) {
            const {x, y, nx, ny} = outline.spot(cell * outline.cell);
            if (!this.sees(x, y, 60)) continue;
            for (const [from, to] of [[-edge, -edge + 3], [edge - 3, edge]]) {
                context.moveTo(x + nx * from, y + ny * from);
                context.lineTo(x + nx * to, y + ny * to);
            }
        }
        context.stroke();
        if (this.scale < 0.6) return;
        context.fillStyle = ink.quiet;
        context.font = '9px system-ui, sans-serif';
        context.textAlign = 'center';
        for (let cell = 0; cell < outline.cells; cell += 10) {
            const {x, y, nx, ny} = outline.spot((cell + 0.5) * outline.cell);
            if (this.sees(x, y, 60))
                context.fillText(String(cell), x - nx * (edge + 9), y - ny * (edge + 9));
        }
    }

    /** The size of letters with which all of it fits into a loop. @param {Outline} outline */
    static nameSize(outline) {
        const inner = outline.radius - outline.band / 2;
        return Math.min(
            outline.radius / 6, 2 * inner / (outline.lanes.length + 3.2),
            (outline.straight + 2 * inner) / 0.62 / Math.max(outline.name.length, 24));
    }

    /**
     * Its name, which way it goes, and how full each lane is, in the middle of the loop.
     * @param {Outline} outline @param {number} index @param {Moment} moment
     */
    drawName(outline, index, moment) {
        const {context, ink} = this, running = moment.belts[index].running;
        const size = outline.isLine ? 13 : Sheet.nameSize(outline);
        if (size * this.scale < 5) return;
        const x = outline.isLine ? outline.x - outline.length / 2 : outline.x;
        const rows = outline.lanes.length;
        let y = outline.isLine ? outline.y + outline.band / 2 + size + 8 :
                                 outline.y - rows * size * 0.7;
        const {pace: [steps, ticks]} = moment.belts[index];
        const rate = +(steps / ticks * this.plan.ticks_per_second).toFixed(3);
        context.textAlign = outline.isLine ? 'left' : 'center';
        context.fillStyle = running ? ink.text : ink.alarmText;
        context.font = `600 ${size}px system-ui, sans-serif`;
        context.fillText(`${outline.name}${running ? '' : ': stopped'}`, x, y);
        context.font = `${size * 0.7}px system-ui, sans-serif`;
        context.fillStyle = ink.quiet;
        const way = outline.isLine ? 'to the right' : 'clockwise';
        y += size * 1.1;
        context.fillText(`${outline.cells} cells, ${rate} a second, ${way}`, x, y);
        outline.lanes.forEach((lane, i) => {
            y += size;
            this.drawShare(outline, i, lane, x, y, size * 0.7, moment);
        });
    }

    /**
     * @param {Outline} outline @param {number} lane @param {string} name @param {number} x
     * @param {number} y @param {number} size @param {Moment} moment
     */
    drawShare(outline, lane, name, x, y, size, moment) {
        const {context, ink} = this, items = moment.itemsOn(outline.firstTrack + lane);
        const cells = items.reduce((sum, {item}) => sum + this.plan.items[item].length, 0);
        const share = cells / outline.cells, width = size * 9;
        const left = context.textAlign === 'left' ? x : x - width / 2 - size * 4;
        const text = `${name === '' ? '' : `${name}  `}${cells} of ${outline.cells} held`;
        context.fillStyle = ink.bar;
        context.fillRect(left, y - size * 0.3, width, size * 0.6);
        context.fillStyle = share >= 0.95 ? ink.alarm : ink.good;
        context.fillRect(left, y - size * 0.3, width * share, size * 0.6);
        context.strokeStyle = ink.edge;
        context.lineWidth = 0.7;
        context.strokeRect(left, y - size * 0.3, width, size * 0.6);
        const align = context.textAlign;
        context.textAlign = 'left';
        context.fillStyle = ink.text;
        context.font = `${size}px system-ui, sans-serif`;
        context.fillText(text, left + width + size * 0.5, y);
        context.textAlign = align;
    }

    // ---- items ----

    /** @param {Outline} outline @param {Moment} moment */
    drawItems(outline, moment) {
        for (let lane = 0; lane < outline.lanes.length; lane++)
            for (const {cell, item} of moment.itemsOn(outline.firstTrack + lane)) {
                const {x, y} = outline.middle(cell, lane);
                if (this.sees(x, y, 40)) this.drawRiding(outline, lane, cell, item, x, y);
            }
    }

    /**
     * @param {Outline} outline @param {number} lane @param {number} cell @param {number} item
     * @param {number} x @param {number} y
     */
    drawRiding(outline, lane, cell, item, x, y) {
        const {context} = this, {length} = this.plan.items[item];
        context.globalAlpha = this.only === null || this.only === item ? 1 : 0.15;
        if (length > 1) {
            context.beginPath();
            context.moveTo(x, y);
            for (let i = 1; i < length; i++) {
                const at = outline.middle(cell - i, lane);
                context.lineTo(at.x, at.y);
            }
            context.lineCap = 'round';
            for (const [width, colour] of /** @type {[number, string][]} */ (
                     [[11, this.ink.text], [9, this.marks[item].fill]])) {
                context.lineWidth = width;
                context.strokeStyle = colour;
                context.stroke();
            }
            context.lineCap = 'butt';
        }
        this.drawMark(
            item, x, y, Math.max(Math.min(outline.cell, LANE_WIDTH) * 0.43, 1.3 / this.scale));
        context.globalAlpha = 1;
    }

    /**
     * An item: a mark with a letter. @param {number} item @param {number} x @param {number} y
     * @param {number} size from its middle
     */
    drawMark(item, x, y, size) {
        const {context} = this, {fill, shape, ink} = this.marks[item], letter = this.letters[item];
        context.beginPath();
        if (shape === 'disc') {
            context.arc(x, y, size, 0, 2 * Math.PI);
        } else if (shape === 'square') {
            context.rect(x - size * 0.9, y - size * 0.9, size * 1.8, size * 1.8);
        } else {
            context.moveTo(x, y - size * 1.15);
            context.lineTo(x + size * 1.15, y);
            context.lineTo(x, y + size * 1.15);
            context.lineTo(x - size * 1.15, y);
            context.closePath();
        }
        context.fillStyle = fill;
        context.fill();
        if (size * this.scale < 2) return;
        context.strokeStyle = this.ink.text;
        context.lineWidth = Math.max(size * 0.13, 0.5);
        context.stroke();
        if (size * this.scale < 4.2) return;
        context.fillStyle = ink;
        context.textAlign = 'center';
        context.font = `700 ${size * (letter.length > 1 ? 1.05 : 1.35)}px system-ui, sans-serif`;
        context.fillText(letter, x, y + size * 0.08);
    }

    /** @param {Point} point */
    drawFollowed({x, y}) {
        const {context, ink} = this;
        context.lineWidth = 2.5;
        context.strokeStyle = ink.chosen;
        context.beginPath();
        context.arc(x, y, 13, 0, 2 * Math.PI);
        context.stroke();
        context.lineWidth = 1;
        context.beginPath();
        context.arc(x, y, 17, 0, 2 * Math.PI);
        context.stroke();
    }

    // ---- arms ----

    /** @param {number} arm */
    isChosenArm(arm) {
        return this.chosen !== null && this.chosen.kind === 'arm' && this.chosen.index === arm;
    }

    /**
     * The way of an arm, with a foot at each end and an arrow where it puts down.
     * @param {number} arm
     */
    drawLink(arm) {
        const {context, ink} = this, [a, b] = this.links[arm];
        const x = b.x - a.x, y = b.y - a.y, far = Math.hypot(x, y) || 1;
        if (!this.sees((a.x + b.x) / 2, (a.y + b.y) / 2, far / 2 + 20)) return;
        context.strokeStyle = this.isChosenArm(arm) ? ink.chosen : ink.line;
        context.lineWidth = this.isChosenArm(arm) ? 3 : 1.6;
        context.beginPath();
        context.moveTo(a.x, a.y);
        context.lineTo(b.x, b.y);
        context.stroke();
        context.fillStyle = context.strokeStyle;
        context.beginPath();
        context.moveTo(b.x, b.y);
        context.lineTo(b.x - (x * 8 - y * 4) / far, b.y - (y * 8 + x * 4) / far);
        context.lineTo(b.x - (x * 8 + y * 4) / far, b.y - (y * 8 - x * 4) / far);
        context.fill();
    }

    /**
     * The hand of an arm on its way, with what it holds; a gate across it when it has one.
     * @param {number} arm @param {Moment} moment
     */
    drawHand(arm, moment) {
        const {context, ink} = this, [a, b] = this.links[arm], state = moment.armState[arm];
        const at = HAND_AT[state], x = a.x + (b.x - a.x) * at, y = a.y + (b.y - a.y) * at;
        if (!this.sees(x, y, 80)) return;
        if (this.gates[arm] >= 0) this.drawGate(a, b, moment.gateOpen[this.gates[arm]] === 1);
        const waits = moment.tick - moment.armSince[arm],
              blocked = state === 2 && waits > this.plan.ticks_per_second;
        context.beginPath();
        for (let i = 0; i < 6; i++)
            context.lineTo(
                x + HAND_SIZE * Math.cos(i * Math.PI / 3),
                y + HAND_SIZE * Math.sin(i * Math.PI / 3));
        context.closePath();
        context.fillStyle = ink.paper;
        context.fill();
        context.lineWidth = blocked ? 3 : 1.5;
        context.strokeStyle = blocked ? ink.alarm : this.isChosenArm(arm) ? ink.chosen : ink.text;
        context.setLineDash(state === 4 ? [3, 2] : []);
        context.stroke();
        context.setLineDash([]);
        this.drawHeld(moment.hand[arm], x, y);
        if (this.scale > 0.45) this.drawArmText(arm, moment, blocked, waits);
    }

    /** @param {[number, number][]} hand @param {number} x @param {number} y */
    drawHeld(hand, x, y) {
        const {context, ink} = this;
        hand.forEach(([item, count], i) => {
            context.globalAlpha = this.only === null || this.only === item ? 1 : 0.15;
            this.drawMark(item, x + i * 14, y, 7);
            context.globalAlpha = 1;
            if (count < 2) return;
            context.font = '700 9px system-ui, sans-serif';
            context.textAlign = 'left';
            context.lineWidth = 3;
            context.strokeStyle = ink.paper;
            context.strokeText(String(count), x + i * 14 + 5, y - 8);
            context.fillStyle = ink.text;
            context.fillText(String(count), x + i * 14 + 5, y - 8);
        });
    }

    /**
     * The places for the text of an arm beside the middle of its way, the usual one first.
     * @param {number} arm @param {number} width of the text
     * @returns {{align: 'left' | 'right' | 'center', x: number, y: number, from: number}[]} `from`
     *     is its left end
     */
    textPlaces(arm, width) {
        const [a, b] = this.links[arm], x = (a.x + b.x) / 2, y = (a.y + b.y) / 2;
        const steep = Math.abs(b.y - a.y) > Math.abs(b.x - a.x) * 0.6;
        /** @type {{align: 'left' | 'right' | 'center', x: number, y: number, from: number}[]} */
        const beside = [
            {align: 'left', x: x + 13, y, from: x + 13},
            {align: 'right', x: x - 13, y, from: x - 13 - width}
        ];
        /** @type {typeof beside} */
        const over =
            [15, -15].map((far) => ({align: 'center', x, y: y + far, from: x - width / 2}));
        return steep ? [...beside, ...over] : [...over, ...beside];
    }

    /**
     * How much of what is drawn a text there would hide: of boxes and other texts their share of
     * it; of belts, of the arm's own way and of its hand at rest whether it touches them.
     * @param {number} arm @param {number} from @param {number} y @param {number} width
     */
    textHides(arm, from, y, width) {
        const inside = (/** @type {Point} */ at, /** @type {number} */ far) =>
            at.x > from - far && at.x < from + width + far && Math.abs(at.y - y) < 6 + far;
        const common =
            (/** @type {number} */ low, /** @type {number} */ high,
             /** @type {number} */ at, /** @type {number} */ size) =>
                Math.max(0, Math.min(high, at + size / 2) - Math.max(low, at - size / 2));
        let hidden = 0;
        for (const box of [...this.layout.boxes, ...this.texts])
            hidden += 6 * common(from, from + width, box.x, box.w) *
                common(y - 6, y + 6, box.y, box.h) / (12 * width);
        for (const outline of this.layout.outlines)
            for (let s = 0; s < outline.length; s += Math.max(outline.cell, outline.length / 256))
                if (inside(outline.spot(s), outline.band / 2)) {
                    hidden += 2;
                    break;
                }
        const [a, b] = this.links[arm];
        const on = (/** @type {number} */ at) =>
            ({x: a.x + (b.x - a.x) * at, y: a.y + (b.y - a.y) * at});
        if (Array.from({length: 17}, (_, i) => on(i / 16)).some((spot) => inside(spot, 0)))
            hidden += 1;
        return hidden + (inside(on(HAND_AT[0]), HAND_SIZE) ? 0.5 : 0);
    }

    /**
     * Where the name of an arm hides least. @param {number} arm @param {string} name
     */
    textPlace(arm, name) {
        this.context.font = '9px system-ui, sans-serif';
        const width = this.context.measureText(name).width;
        const places = this.textPlaces(arm, width);
        if (this.sides[arm] === undefined) {
            const hides = places.map(({from, y}) => this.textHides(arm, from, y, width));
            this.sides[arm] = hides.indexOf(Math.min(...hides));
            const {from, y} = places[this.sides[arm]];
            this.texts.push({x: from + width / 2, y: y + 5, w: width, h: 22});
        }
        return places[this.sides[arm]];
    }

    /**
     * Beside the middle of its way, where it hides least. @param {number} arm
     * @param {Moment} moment @param {boolean} blocked @param {number} waits
     */
    drawArmText(arm, moment, blocked, waits) {
        const {context, ink} = this, rows = [];
        if (this.scale > 1.15 || this.isChosenArm(arm)) rows.push(this.plan.arms[arm].name);
        if (blocked)
            rows.push(`placing ${spanOf(waits, this.plan.ticks_per_second)}`);
        else if (this.scale > 1.6)
            rows.push(ARM_STATES[moment.armState[arm]]);
        if (rows.length === 0) return;
        const {align, x, y} = this.textPlace(arm, this.plan.arms[arm].name);
        context.textAlign = align;
        context.lineWidth = 3;
        context.strokeStyle = ink.paper;
        rows.forEach((row, i) => {
            const alarming = blocked && i === rows.length - 1;
            context.font = `${alarming ? '700 10' : '9'}px system-ui, sans-serif`;
            context.strokeText(row, x, y + i * 10);
            context.fillStyle = alarming ? ink.alarmText : ink.text;
            context.fillText(row, x, y + i * 10);
        });
    }

    /**
     * Two posts beside the way; a bar across it when the gate is shut. @param {Point} a
     * @param {Point} b @param {boolean} open
     */
    drawGate(a, b, open) {
        const {context, ink} = this, far = Math.hypot(b.x - a.x, b.y - a.y) || 1;
        const ux = (b.x - a.x) / far, uy = (b.y - a.y) / far;
        const x = a.x + (b.x - a.x) * 0.37, y = a.y + (b.y - a.y) * 0.37;
        context.lineWidth = 2.2;
        context.strokeStyle = open ? ink.quiet : ink.wait;
        context.beginPath();
        for (const side of [-1, 1]) {
            context.moveTo(x - uy * side * 7 - ux * 3, y + ux * side * 7 - uy * 3);
            context.lineTo(x - uy * side * 7 + ux * 3, y + ux * side * 7 + uy * 3);
        }
        if (!open) {
            context.moveTo(x + uy * 7, y - ux * 7);
            context.lineTo(x - uy * 7, y + ux * 7);
        }
        context.stroke();
    }

    // ---- chests and stations ----

    /** @param {Box} box @param {Moment} moment */
    drawBox(box, moment) {
        const {context, ink} = this, {x, y, w, h} = box;
        if (!this.sees(x, y, Math.max(w, h))) return;
        const chosen = this.chosen !== null && this.chosen.kind === box.kind &&
            this.chosen.index === box.index;
        context.beginPath();
        if (box.kind === 'chest')
            context.rect(x - w / 2, y - h / 2, w, h);
        else
            context.roundRect(x - w / 2, y - h / 2, w, h, 10);
        context.fillStyle = ink.box;
        context.fill();
        context.lineWidth = Math.max(chosen ? 3 : 1.3, 0.6 / this.scale);
        context.strokeStyle = chosen ? ink.chosen : ink.text;
        context.stroke();
        if (box.kind === 'chest') this.drawStreams(box);
        if (this.scale < 0.18) return;
        context.textAlign = 'left';
        context.fillStyle = ink.text;
        context.font = '600 11px system-ui, sans-serif';
        context.fillText(this.fitted(box.name, w - 14), x - w / 2 + 7, y - h / 2 + 11);
        if (box.kind === 'chest')
            this.drawChest(box, moment);
        else
            this.drawStation(box, moment);
    }

    /**
     * A wedge that points in where a supply brings something, one that points out where orders take
     * it. @param {Box} box
     */
    drawStreams({index, x, y, w, h}) {
        const {context, ink} = this;
        context.fillStyle = ink.text;
        /** @type {[boolean, number, number][]} */
        const wedges =
            [[this.supplied[index], x - w / 2 - 9, 8], [this.demanded[index], x + w / 2 + 1, 8]];
        for (const [there, left, wide] of wedges) {
            if (!there) continue;
            context.beginPath();
            context.moveTo(left, y + h / 2 - 13);
            context.lineTo(left + wide, y + h / 2 - 8);
            context.lineTo(left, y + h / 2 - 3);
            context.fill();
        }
    }

    /** @param {string} text @param {number} width */
    fitted(text, width) {
        if (this.context.measureText(text).width <= width) return text;
        let end = text.length;
        while (end > 1 && this.context.measureText(`${text.slice(0, end)}…`).width > width) end--;
        return `${text.slice(0, end)}…`;
    }

    /**
     * What it holds, kind by kind: a bar up to its bound, with a mark at each threshold.
     * @param {Box} box @param {Moment} moment
     */
    drawChest(box, moment) {
        const {context, ink, plan} = this, items = plan.items.length,
                             chest = plan.chests[box.index];
        const kinds = [...this.kinds[box.index]];
        const total = contentsOf(moment, box.index).reduce((sum, [, count]) => sum + count, 0);
        const capacity = valueAt(chest.capacities, moment.tick);
        const full = capacity !== null && total >= capacity;
        context.textAlign = 'right';
        context.font = `${full ? '700 ' : ''}10px system-ui, sans-serif`;
        context.fillStyle = full ? ink.alarmText : ink.quiet;
        const sum = capacity === null ? '' : `${total}/${capacity}${full ? ' full' : ''}`;
        const name = context.measureText(sum).width;
        let y = box.y - box.h / 2 + 24;
        if (kinds.length > 4)
            kinds.sort(
                (a, b) =>
                    moment.count[box.index * items + b] - moment.count[box.index * items + a] ||
                    a - b);
        kinds.slice(0, 4).forEach((item, i) => {
            this.drawLevel(box, item, moment, y + i * 14);
        });
        if (sum === '') return;
        context.font = `${full ? '700 ' : ''}10px system-ui, sans-serif`;
        context.textAlign = 'right';
        context.fillStyle = ink.box;
        context.fillRect(box.x + box.w / 2 - name - 7, box.y - box.h / 2 + 4, name + 5, 13);
        context.fillStyle = full ? ink.alarmText : ink.quiet;
        context.fillText(sum, box.x + box.w / 2 - 5, box.y - box.h / 2 + 11);
    }

    /** @param {Box} box @param {number} item @param {Moment} moment @param {number} y */
    drawLevel(box, item, moment, y) {
        const {context, ink, plan} = this, chest = plan.chests[box.index];
        const count = moment.count[box.index * plan.items.length + item];
        const limit = chest.limits.find(([one]) => one === item);
        const single = this.kinds[box.index].length === 1;
        const marks = this.thresholds[box.index]
                          .filter((leaf) => leaf.item === item || (leaf.item === null && single))
                          .map((leaf) => valueAt(leaf.thresholds, moment.tick) ?? 0);
        const bound = limit?.[1] ?? valueAt(chest.capacities, moment.tick) ??
            Math.max(
                this.scales[box.index * plan.items.length + item],
                ...marks.map((threshold) => threshold * 1.25), 1);
        const left = box.x - box.w / 2 + 20, width = box.w - 52;
        context.globalAlpha = this.only === null || this.only === item ? 1 : 0.25;
        this.drawMark(item, box.x - box.w / 2 + 11, y, 5.6);
        context.fillStyle = ink.bar;
        context.fillRect(left, y - 4, width, 8);
        context.fillStyle = this.marks[item].fill;
        context.fillRect(left, y - 4, width * Math.min(count / bound, 1), 8);
        context.strokeStyle = ink.edge;
        context.lineWidth = 0.8;
        context.strokeRect(left, y - 4, width, 8);
        context.lineWidth = 1.6;
        context.strokeStyle = ink.text;
        context.beginPath();
        for (const threshold of marks) {
            const x = left + width * Math.min(threshold / bound, 1);
            context.moveTo(x, y - 6);
            context.lineTo(x, y + 6);
        }
        context.stroke();
        context.fillStyle = ink.text;
        context.textAlign = 'right';
        context.font = '10px system-ui, sans-serif';
        context.fillText(String(count), box.x + box.w / 2 - 5, y);
        context.globalAlpha = 1;
    }

    /**
     * Its state in a word, the batch at work, inputs at the left and outputs at the right.
     * @param {Box} box @param {Moment} moment
     */
    drawStation(box, moment) {
        const {context, ink, plan} = this, station = plan.stations[box.index];
        const state = STATION_STATES[moment.stationState[box.index]];
        const trouble = state === 'starved' || state === 'blocked' || state === 'stopped';
        const top = box.y - box.h / 2, left = box.x - box.w / 2;
        context.font = `${trouble ? '700 ' : ''}10px system-ui, sans-serif`;
        context.fillStyle = trouble ? ink.alarmText : ink.text;
        const lasted = moment.tick - moment.stationSince[box.index];
        const words = trouble && lasted > plan.ticks_per_second ?
            `${state} ${spanOf(lasted, plan.ticks_per_second)}` :
            state;
        context.fillText(this.fitted(words, box.w - 14), left + 7, top + 24);
        const done = moment.batchSince[box.index] < 0 || state !== 'working' ?
            0 :
            Math.min((moment.tick - moment.batchSince[box.index]) / station.time, 1);
        context.fillStyle = ink.bar;
        context.fillRect(left + 7, top + 32, box.w - 14, 5);
        context.fillStyle = ink.good;
        context.fillRect(left + 7, top + 32, (box.w - 14) * done, 5);
        station.takes.forEach(([item], i) => {
            if (i < 4)
                this.drawStock(
                    item, moment.count[moment.firstInput[box.index] + i], left + 13,
                    top + 46 + i * 14, 'in');
        });
        station.makes.forEach(([item], i) => {
            if (i < 4)
                this.drawStock(
                    item, moment.count[moment.firstOutput[box.index] + i], left + box.w - 13,
                    top + 46 + i * 14, 'out');
        });
    }

    /**
     * @param {number} item @param {number} count @param {number} x @param {number} y
     * @param {'in' | 'out'} side
     */
    drawStock(item, count, x, y, side) {
        const {context, ink} = this;
        context.globalAlpha = this.only === null || this.only === item ? 1 : 0.25;
        this.drawMark(item, x, y, 5.6);
        context.fillStyle = ink.text;
        context.font = '10px system-ui, sans-serif';
        context.textAlign = side === 'in' ? 'left' : 'right';
        context.fillText(
            side === 'in' ? `${count} in` : `${count} made`, x + (side === 'in' ? 9 : -9), y);
        context.globalAlpha = 1;
    }

    // ---- what is where ----

    /**
     * What is under a point of the canvas; null: nothing. @param {number} px @param {number} py
     * @param {Moment} moment @returns {Target | null}
     */
    hit(px, py, moment) {
        const x = px / this.scale + this.left, y = py / this.scale + this.top;
        const near = Math.max(9, 8 / this.scale);
        for (let arm = 0; arm < this.links.length; arm++) {
            const [a, b] = this.links[arm], at = HAND_AT[moment.armState[arm]];
            if (Math.hypot(a.x + (b.x - a.x) * at - x, a.y + (b.y - a.y) * at - y) < near + 2)
                return {kind: 'arm', index: arm};
        }
        const item = this.hitItem(x, y, moment);
        if (item !== null) return item;
        for (const box of this.layout.boxes)
            if (Math.abs(box.x - x) <= box.w / 2 && Math.abs(box.y - y) <= box.h / 2)
                return {kind: box.kind, index: box.index};
        for (let arm = 0; arm < this.links.length; arm++)
            if (Sheet.distance(this.links[arm], x, y) < near * 0.7)
                return {kind: 'arm', index: arm};
        return null;
    }

    /** @param {[Point, Point]} link @param {number} x @param {number} y */
    static distance([a, b], x, y) {
        const dx = b.x - a.x, dy = b.y - a.y;
        const at =
            Math.min(Math.max(((x - a.x) * dx + (y - a.y) * dy) / (dx * dx + dy * dy || 1), 0), 1);
        return Math.hypot(a.x + dx * at - x, a.y + dy * at - y);
    }

    /** @param {number} x @param {number} y @param {Moment} moment @returns {Target | null} */
    hitItem(x, y, moment) {
        for (const outline of this.layout.outlines) {
            if (Math.abs(outline.distance({x, y}).far) > outline.band / 2 + 4) continue;
            for (let lane = 0; lane < outline.lanes.length; lane++)
                for (const {cell, item} of moment.itemsOn(outline.firstTrack + lane)) {
                    const at = outline.middle(cell, lane);
                    if (Math.hypot(at.x - x, at.y - y) < Math.max(outline.cell / 2, 8))
                        return {kind: 'item', track: outline.firstTrack + lane, cell, item};
                }
        }
        return null;
    }

    /** Where a part stands. @param {Target} target @param {Moment} moment @returns {Point} */
    pointOf(target, moment) {
        if (target.kind === 'arm') {
            const [a, b] = this.links[target.index], at = HAND_AT[moment.armState[target.index]];
            return {x: a.x + (b.x - a.x) * at, y: a.y + (b.y - a.y) * at};
        }
        if (target.kind !== 'item')
            return /** @type {Box} */ (this.layout.boxes.find(
                (box) => box.kind === target.kind && box.index === target.index));
        const outline = /** @type {Outline} */ (this.layout.outlines.find(
            (one) => target.track >= one.firstTrack &&
                target.track < one.firstTrack + one.lanes.length));
        return outline.middle(target.cell, target.track - outline.firstTrack);
    }
}
