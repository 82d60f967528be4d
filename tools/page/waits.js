// SPDX-License-Identifier: GPL-3.0-or-later
// waits.js - who waits for whom, as a picture: whoever is waited for stands further right; what
// waits in a circle stands on a ring, with strong lines.
'use strict';

/** @typedef {{who: string, what: string, on: string, since_s: number}} Wait */

const NODE_HIGH = 34, NODE_GAP = 26, COLUMN_GAP = 190, RING_STEP = 74;

class WaitsPicture {
    /** @param {Wait[]} waits @param {string[] | null} cycle */
    constructor(waits, cycle) {
        this.waits = waits;
        this.cycle = cycle ?? [];
        /** @type {Map<string, {x: number, y: number, w: number}>} */
        this.nodes = new Map();
        for (const {who, on} of waits)
            for (const name of [who, on])
                this.nodes.set(name, {x: 0, y: 0, w: Math.max(name.length * 7.6 + 22, 70)});
        this.place();
    }

    /** @param {string} name */
    inCycle(name) {
        return this.cycle.includes(name);
    }

    /** How far a vertex is from the first, along the waits. */
    ranks() {
        /** @type {Map<string, number>} */
        const rank = new Map();
        const waited = new Set(this.waits.filter(({who, on}) => who !== on).map(({on}) => on));
        let now = [...this.nodes.keys()].filter((name) => !waited.has(name));
        if (now.length === 0 && this.waits.length > 0) now = [this.waits[0].who];
        for (let depth = 0; now.length > 0; depth++) {
            for (const name of now)
                if (!rank.has(name)) rank.set(name, depth);
            const next = new Set(this.waits.filter(({who}) => now.includes(who)).map(({on}) => on));
            now = [...next].filter((name) => !rank.has(name));
            if (now.length === 0)
                now = [...this.nodes.keys()].filter((name) => !rank.has(name)).slice(0, 1);
        }
        return rank;
    }

    place() {
        if (this.cycle.length > 2)
            this.placeAroundRing();
        else
            this.placeColumns([...this.nodes.keys()], 0);
    }

    /** Whoever waits for the circle stands at its left, what the circle waits for at its right. */
    placeAroundRing() {
        this.placeRing();
        const reached = new Set(this.cycle);
        for (let size = 0; size < reached.size;) {
            size = reached.size;
            for (const {who, on} of this.waits)
                if (reached.has(who)) reached.add(on);
        }
        const at = this.cycle.map((name) => this.nodes.get(name)?.x ?? 0);
        this.placeColumns(
            [...reached].filter((name) => !this.inCycle(name)), Math.max(...at) + 170);
        const before = [...this.nodes.keys()].filter((name) => !reached.has(name));
        const wide = this.placeColumns(before, 0), high = this.heightOf(before);
        for (const name of before) {
            const node = this.nodes.get(name);
            if (node === undefined) continue;
            node.x += Math.min(...at) - 80 - wide;
            node.y += high;
        }
    }

    /**
     * Stands vertices in columns by their rank, from a place on; returns where the last one ends.
     * @param {string[]} names @param {number} left
     */
    placeColumns(names, left) {
        const rank = this.ranks();
        /** @type {string[][]} */
        const columns = [];
        for (const name of names) (columns[rank.get(name) ?? 0] ??= []).push(name);
        let x = left;
        for (const column of columns) {
            if (column === undefined) continue;
            column.sort((a, b) => this.pull(a) - this.pull(b));
            const wide = Math.max(...column.map((name) => this.nodes.get(name)?.w ?? 0));
            column.forEach(
                (name, i) => Object.assign(
                    this.nodes.get(name) ?? {},
                    {x: x + wide / 2, y: (i - (column.length - 1) / 2) * (NODE_HIGH + NODE_GAP)}));
            x += wide + COLUMN_GAP;
        }
        return x;
    }

    /** The mean height of those already placed that wait for it. @param {string} name */
    pull(name) {
        const near =
            this.waits.filter(({on}) => on === name).map(({who}) => this.nodes.get(who)?.y ?? 0);
        return near.length === 0 ? 0 : near.reduce((sum, y) => sum + y, 0) / near.length;
    }

    /**
     * The mean height of what some vertices wait for, where that is in the circle.
     * @param {string[]} names
     */
    heightOf(names) {
        const of = this.waits.filter(({who, on}) => names.includes(who) && this.inCycle(on))
                       .map(({on}) => this.nodes.get(on)?.y ?? 0);
        return of.length === 0 ? 0 : of.reduce((sum, y) => sum + y, 0) / of.length;
    }

    placeRing() {
        const count = this.cycle.length, radius = Math.max(count * RING_STEP / Math.PI, 110);
        this.cycle.forEach((name, i) => {
            const angle = -Math.PI / 2 + 2 * Math.PI * i / count;
            Object.assign(
                this.nodes.get(name) ?? {},
                {x: Math.cos(angle) * radius * 1.5, y: Math.sin(angle) * radius});
        });
    }

    /** @param {string} who @param {string} on */
    isStrong(who, on) {
        const at = this.cycle.indexOf(who);
        return at >= 0 && this.cycle[(at + 1) % this.cycle.length] === on;
    }

    /** @returns {SVGSVGElement} */
    draw() {
        const make =
            (/** @type {string} */ tag, /** @type {Record<string, string | number>} */ attributes,
             text = '') => {
                const one = document.createElementNS('http://www.w3.org/2000/svg', tag);
                for (const [name, value] of Object.entries(attributes))
                    one.setAttribute(name, String(value));
                one.textContent = text;
                return one;
            };
        const all = [...this.nodes.values()];
        const left = Math.min(...all.map(({x, w}) => x - w / 2)) - 30,
              right = Math.max(...all.map(({x, w}) => x + w / 2)) + 30;
        const top = Math.min(...all.map(({y}) => y)) - 60,
              bottom = Math.max(...all.map(({y}) => y)) + 60;
        const svg = /** @type {SVGSVGElement} */ (make('svg', {
            viewBox: `${left} ${top} ${right - left} ${bottom - top}`,
            width: right - left,
            height: bottom - top,
            role: 'img',
            'aria-label':
                this.waits.map(({who, what, on}) => `${who} waits for ${what} on ${on}`).join('; ')
        }));
        const labels = this.waits.map((wait) => this.drawEdge(svg, make, wait));
        for (const [name, {x, y, w}] of this.nodes) {
            svg.append(make('rect', {
                class: `node${this.inCycle(name) ? ' circle' : ''}`,
                x: x - w / 2,
                y: y - NODE_HIGH / 2,
                width: w,
                height: NODE_HIGH,
                rx: 8
            }));
            svg.append(make('text', {x, y: y + 4.5, 'text-anchor': 'middle'}, name));
        }
        svg.append(...labels.filter((label) => label !== null));
        return svg;
    }

    /**
     * Returns the words beside it, to be drawn over all else. @param {SVGSVGElement} svg
     * @param {Function} make @param {Wait} wait @returns {SVGElement | null}
     */
    drawEdge(svg, make, {who, what, on}) {
        const a = this.nodes.get(who), b = this.nodes.get(on);
        if (a === undefined || b === undefined || a === b) return null;
        const strong = this.isStrong(who, on) ? ' circle' : '';
        const bend = this.waits.some((other) => other.who === on && other.on === who) ? 26 : 0;
        const dx = b.x - a.x, dy = b.y - a.y, far = Math.hypot(dx, dy) || 1;
        const mx = (a.x + b.x) / 2 - dy / far * bend, my = (a.y + b.y) / 2 + dx / far * bend;
        const from = WaitsPicture.border(a, mx - a.x, my - a.y),
              to = WaitsPicture.border(b, mx - b.x, my - b.y);
        const ex = to.x - mx, ey = to.y - my, end = Math.hypot(ex, ey) || 1;
        svg.append(make('path', {
            class: `edge${strong}`,
            d: `M${from.x} ${from.y}Q${mx} ${my} ${to.x - ex / end * 6} ${to.y - ey / end * 6}`
        }));
        svg.append(make('path', {
            class: `head${strong}`,
            d: `M${to.x} ${to.y}L${to.x - (ex * 12 - ey * 5) / end} ${
                   to.y - (ey * 12 + ex * 5) / end}` +
                `L${to.x - (ex * 12 + ey * 5) / end} ${to.y - (ey * 12 - ex * 5) / end}Z`
        }));
        return make(
            'text', {
                class: 'why',
                x: mx - dy / far * bend * 0.2,
                y: my + (Math.abs(dy) > 40 ? 4 : -7),
                'text-anchor': 'middle'
            },
            what);
    }

    /**
     * Where a way leaves a node. @param {{x: number, y: number, w: number}} node @param {number}
     * dx
     * @param {number} dy
     */
    static border({x, y, w}, dx, dy) {
        const part =
            Math.min(w / 2 / (Math.abs(dx) || 1e-9), NODE_HIGH / 2 / (Math.abs(dy) || 1e-9));
        return {x: x + dx * part, y: y + dy * part};
    }
}

for (const figure of document.querySelectorAll('.waits')) {
    const found = JSON.parse(document.getElementById('found')?.textContent ?? '[]');
    const one = found[Number(figure.getAttribute('data-found'))];
    figure.querySelector('.picture')?.append(new WaitsPicture(one.waits, one.cycle).draw());
}
