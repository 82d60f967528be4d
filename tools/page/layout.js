// SPDX-License-Identifier: GPL-3.0-or-later
// layout.js - where everything stands on the sheet. Loops are drawn to scale: all cells are equally
// long along the outline, two straights joined by half circles. A chest or station stands as near
// as may be to the cells of its arms, further ones behind it, outwards. It follows from the
// scenario alone, and is the same each time.
'use strict';

/**
 * @typedef {{x: number, y: number}} Point
 * @typedef {{x: number, y: number, nx: number, ny: number}} Spot a point and its outward normal
 * @typedef {{kind: 'chest' | 'station', index: number, name: string, x: number, y: number, w:
 * number, h: number, home: number, depth: number, s: number, out: number}} Box
 */

const LANE_WIDTH = 17;                  // across the travel, of each lane
const CELL_LEAST = 13, CELL_MOST = 30;  // along the travel
const REACH = 62;                       // from a belt's edge to a box, and from box to box
const ASPECT = 2.1;                     // of a sheet that fits well: width to height
const TURNS = 24, TURNED_MOST = 150;  // turns of a loop that are tried, unless it has so many boxes
const MARGIN = 14;                    // between boxes

/** The outline of a loop, its middle between the lanes, or of a line. */
class Outline {
    /**
     * @param {string} name @param {number} cells @param {string[]} lanes @param {boolean} isLine
     * @param {number} firstTrack
     */
    constructor(name, cells, lanes, isLine, firstTrack) {
        this.name = name;
        this.cells = cells;
        this.lanes = lanes;
        this.isLine = isLine;
        this.firstTrack = firstTrack;
        this.x = 0;
        this.y = 0;
        /** Where cell 0 begins, along the outline. */
        this.phase = 0;
        this.cell = CELL_LEAST;
        this.straight = 0;
        this.radius = 0;
        this.resize(CELL_LEAST);
    }

    get band() {
        return this.lanes.length * LANE_WIDTH + 8;
    }

    get length() {
        return this.cells * this.cell;
    }

    /**
     * A small loop has longer cells, so that its lanes have room to turn.
     * @param {number} cell its length on the sheet
     */
    resize(cell) {
        this.cell = this.isLine ? cell : Math.max(cell, 2 * Math.PI * this.band / this.cells);
        if (this.isLine) return;
        this.radius = Math.max(this.length / (2 * Math.PI + 7), this.band);
        this.straight = Math.max(0, (this.length - 2 * Math.PI * this.radius) / 2);
    }

    /**
     * The spot at a way along the outline, in the direction of travel: clockwise.
     * @param {number} s @returns {Spot}
     */
    spot(s) {
        if (this.isLine) return {x: this.x - this.length / 2 + s, y: this.y, nx: 0, ny: -1};
        const {straight, radius, length} = this, arc = Math.PI * radius;
        let at = ((s + this.phase) % length + length) % length;
        if (at < straight)
            return {x: this.x - straight / 2 + at, y: this.y - radius, nx: 0, ny: -1};
        at -= straight;
        if (at < arc) return this.onArc(this.x + straight / 2, at / radius - Math.PI / 2);
        at -= arc;
        if (at < straight) return {x: this.x + straight / 2 - at, y: this.y + radius, nx: 0, ny: 1};
        return this.onArc(this.x - straight / 2, (at - straight) / radius + Math.PI / 2);
    }

    /** @param {number} x @param {number} angle @returns {Spot} */
    onArc(x, angle) {
        const nx = Math.cos(angle), ny = Math.sin(angle);
        return {x: x + nx * this.radius, y: this.y + ny * this.radius, nx, ny};
    }

    /**
     * How much longer an outline further out is, at a way along it.
     * @param {number} s @param {number} out
     */
    stretch(s, out) {
        const {nx, ny} = this.spot(s);
        return this.isLine || (nx === 0 && Math.abs(ny) === 1) ? 1 :
                                                                 (this.radius + out) / this.radius;
    }

    /**
     * The middle of a cell of a lane. @param {number} cell @param {number} lane
     * @returns {Spot}
     */
    middle(cell, lane) {
        const spot = this.spot((cell + 0.5) * this.cell), out = this.laneOut(lane);
        return {...spot, x: spot.x + spot.nx * out, y: spot.y + spot.ny * out};
    }

    /** How far outward a lane lies: the first is the outermost. @param {number} lane */
    laneOut(lane) {
        return ((this.lanes.length - 1) / 2 - lane) * LANE_WIDTH;
    }

    /**
     * Distance of a point from the outline, and the outward direction there.
     * @param {Point} point
     */
    distance(point) {
        const half = (this.isLine ? this.length : this.straight) / 2;
        const x = point.x - this.x, y = point.y - this.y;
        const over = Math.max(Math.abs(x) - half, 0) * Math.sign(x);
        const size = Math.hypot(over, y) || 1e-9;
        return {
            far: this.isLine ? size : size - this.radius,
            nx: over / size,
            ny: over === 0 && y === 0 ? 1 : y / size
        };
    }
}

class Layout {
    /** @param {Plan} plan @param {number[][]} kinds of items in each chest */
    constructor(plan, kinds) {
        this.plan = plan;
        this.outlines = [
            ...plan.loops.map(
                (loop) => new Outline(loop.name, loop.cells, loop.lanes, false, loop.first)),
            ...plan.lines.map(
                (line, i) => new Outline(
                    line.name, line.cells, [''], true, plan.tracks.length - plan.lines.length + i)),
        ];
        /** @type {Box[]} chests, then stations */
        this.boxes = [
            ...plan.chests.map(
                (chest, index) => Layout.box(
                    'chest', index, chest.name,
                    24 + 14 * Math.min(Math.max(kinds[index].length, 1), 4),
                    chest.capacity === null ? 0 : 36 + 12 * String(chest.capacity).length)),
            ...plan.stations.map(
                (station, index) => Layout.box(
                    'station', index, station.name,
                    44 + 14 * Math.min(Math.max(station.takes.length, station.makes.length), 4),
                    0)),
        ];
        this.ends = plan.arms.map((arm) => ({from: this.end(arm.from), to: this.end(arm.to)}));
        this.neighbours = this.findNeighbours();
        this.findHomes();
        this.resize();
        this.outlines.forEach((_, home) => this.placeGroup(home));
        this.pack();
        this.turnOutlines();
        this.placeBetween();
        this.placeLoose();
        this.separate();
        this.bounds = this.findBounds();
    }

    /**
     * @param {'chest' | 'station'} kind @param {number} index @param {string} name
     * @param {number} h @param {number} more room beside the name @returns {Box}
     */
    static box(kind, index, name, h, more) {
        const w =
            Math.min(Math.max(name.length * 6.7 + 18 + more, kind === 'chest' ? 104 : 130), 220);
        return {kind, index, name, x: 0, y: 0, w, h, home: -1, depth: 0, s: 0, out: 0};
    }

    /** What an arm's end is at: a box, or a way along an outline. @param {Place} place */
    end(place) {
        if (place.kind === 'chest') return {box: place.index, outline: -1, s: 0, lane: 0, cell: 0};
        if (place.kind === 'station')
            return {
                box: this.plan.chests.length + place.index,
                outline: -1,
                s: 0,
                lane: 0,
                cell: 0
            };
        const track = place.kind === 'lane' ?
            place.index :
            this.plan.tracks.length - this.plan.lines.length + place.index;
        const outline = this.outlines.findIndex(
            (one) => track >= one.firstTrack && track < one.firstTrack + one.lanes.length);
        return {
            box: -1,
            outline,
            s: place.cell + 0.5,
            lane: track - this.outlines[outline].firstTrack,
            cell: place.cell
        };
    }

    /** The arms of each box, with their other ends. */
    findNeighbours() {
        /** @type {{box: number, outline: number, s: number}[][]} */
        const of = this.boxes.map(() => []);
        for (const {from, to} of this.ends) {
            if (from.box >= 0) of[from.box].push(to);
            if (to.box >= 0) of[to.box].push(from);
        }
        return of;
    }

    /** A box at home where most of its arms are; one without such arms behind its neighbour. */
    findHomes() {
        const of = this.neighbours;
        this.boxes.forEach((box, index) => {
            const votes = this.outlines.map(
                (_, outline) => of[index].filter((end) => end.outline === outline).length);
            const most = Math.max(0, ...votes);
            if (most === 0) return;
            box.home = votes.indexOf(most);
            box.depth = 1;
        });
        for (let depth = 2, found = true; found; depth++) {
            found = false;
            this.boxes.forEach((box, index) => {
                if (box.home >= 0) return;
                const near = of[index].find(
                    (end) => end.box >= 0 && this.boxes[end.box].home >= 0 &&
                        this.boxes[end.box].depth === depth - 1);
                if (near === undefined) return;
                box.home = this.boxes[near.box].home;
                box.depth = depth;
                found = true;
            });
        }
    }

    /** Cells become so long that the boxes beside them have room. */
    resize() {
        this.outlines.forEach((outline, index) => {
            const wide = this.boxes.filter((box) => box.home === index && box.depth === 1)
                             .reduce((sum, box) => sum + box.w + MARGIN, 0);
            const share = outline.isLine ? 0.5 : 0.7;
            outline.resize(Math.min(Math.max(wide / share / outline.cells, CELL_LEAST), CELL_MOST));
        });
    }

    /** The boxes at home along an outline. @param {number} home */
    group(home) {
        return this.boxes.filter((box) => box.home === home);
    }

    /** Stands the boxes of an outline around it, ring by ring outwards. @param {number} home */
    placeGroup(home) {
        const outline = this.outlines[home], group = this.group(home);
        const deepest = Math.max(0, ...group.map((box) => box.depth));
        for (let depth = 1; depth <= deepest; depth++) {
            const ring = group.filter((box) => box.depth === depth);
            for (const box of ring)
                box.s = this.wish(box, this.neighbours[this.boxes.indexOf(box)]);
            this.spread(outline, ring);
            for (const box of ring) this.stand(outline, box);
        }
    }

    /** What an outline and its boxes cover. @param {number} home */
    extent(home) {
        const one = this.outlines[home], edge = one.band / 2 + 16;
        const half = (one.isLine ? one.length : one.straight) / 2 + one.radius + edge;
        const cover = {
            left: one.x - half,
            right: one.x + half,
            top: one.y - one.radius - edge,
            bottom: one.y + one.radius + edge + (one.isLine ? 40 : 0)
        };
        for (const {x, y, w, h} of this.group(home)) {
            cover.left = Math.min(cover.left, x - w / 2);
            cover.right = Math.max(cover.right, x + w / 2);
            cover.top = Math.min(cover.top, y - h / 2);
            cover.bottom = Math.max(cover.bottom, y + h / 2);
        }
        return cover;
    }

    /** Moves an outline with its boxes. @param {number} home @param {number} x @param {number} y */
    move(home, x, y) {
        for (const one of [this.outlines[home], ...this.group(home)]) {
            one.x += x;
            one.y += y;
        }
    }

    /** Outlines in rows, in their order, with as many in a row as fits best. */
    pack() {
        let best = Infinity, columns = 1;
        for (let tried = 1; tried <= this.outlines.length; tried++) {
            const {width, height} = this.packRows(tried);
            const size = Math.max(width, height * ASPECT);
            if (size < best - 1e-6) [best, columns] = [size, tried];
        }
        this.packRows(columns);
        return best;
    }

    /** @param {number} columns */
    packRows(columns) {
        let top = 0, width = 0;
        for (let row = 0; row < this.outlines.length; row += columns) {
            const homes = this.outlines.map((_, home) => home).slice(row, row + columns);
            const covers = homes.map((home) => this.extent(home));
            const high = Math.max(...covers.map((cover) => cover.bottom - cover.top));
            let left = 0;
            homes.forEach((home, i) => {
                const {left: x, right, top: y, bottom} = covers[i];
                this.move(home, left - x, top + (high - (bottom - y)) / 2 - y);
                left += right - x + REACH;
            });
            width = Math.max(width, left - REACH);
            top += high + REACH;
        }
        return {width, height: top - REACH};
    }

    /** How long all ways between boxes and cells of different outlines are together. */
    lengthBetween() {
        let sum = 0;
        this.ends.forEach(({from, to}) => {
            if (this.homeOf(from) === this.homeOf(to)) return;
            const a = this.anchor(from), b = this.anchor(to);
            sum += Math.hypot(a.x - b.x, a.y - b.y);
        });
        return sum;
    }

    /** @param {ReturnType<Layout['end']>} end */
    homeOf(end) {
        return end.box >= 0 ? this.boxes[end.box].home : end.outline;
    }

    /**
     * Turns each loop so that the sheet is small, and what belongs to two outlines lies between
     * them.
     */
    turnOutlines() {
        for (let round = 0; round < (this.outlines.length > 1 ? 2 : 1); round++)
            this.outlines.forEach((outline, home) => {
                if (outline.isLine || this.boxes.length > TURNED_MOST) return;
                let best = Infinity, phase = 0;
                for (let turn = 0; turn < TURNS; turn++) {
                    outline.phase = outline.length * turn / TURNS;
                    this.placeGroup(home);
                    const cost = this.pack() + this.lengthBetween() * 0.7;
                    if (cost < best - 1e-6) [best, phase] = [cost, outline.phase];
                }
                outline.phase = phase;
                this.placeGroup(home);
                this.pack();
            });
    }

    /** A box with arms at two outlines that are near each other comes to stand between them. */
    placeBetween() {
        this.boxes.forEach((box, index) => {
            const ends = this.neighbours[index].filter((end) => end.outline >= 0);
            const homes = new Set(ends.map((end) => end.outline));
            const spots = ends.map((end) => this.spotOf(end));
            const far = Math.max(
                0,
                ...spots.map(
                    (a) => Math.max(...spots.map((b) => Math.hypot(a.x - b.x, a.y - b.y)))));
            if (homes.size > 1 && far < 700) this.standBetween(box, ends);
        });
    }

    /** What is joined to nothing stands below. */
    placeLoose() {
        const loose = this.boxes.filter((box) => box.home < 0);
        const below =
            Math.max(0, ...this.outlines.map((_, home) => this.extent(home).bottom + REACH));
        loose.forEach((box, i) => {
            box.x = 120 + (i % 8) * 240;
            box.y = below + 60 + Math.floor(i / 8) * 140;
        });
    }

    /** @param {{outline: number, s: number}} end */
    spotOf(end) {
        const outline = this.outlines[end.outline];
        return outline.spot(end.s * outline.cell);
    }

    /**
     * Where a box would stand along its outline: the middle of what it is joined to.
     * @param {Box} box @param {{box: number, outline: number, s: number}[]} ends
     */
    wish(box, ends) {
        const outline = this.outlines[box.home];
        const ways = ends.map(
                             (end) => end.outline === box.home ? end.s * outline.cell :
                                 end.box >= 0 && this.boxes[end.box].home === box.home &&
                                     this.boxes[end.box].depth === box.depth - 1 ?
                                                                 this.boxes[end.box].s :
                                                                 -1)
                         .filter((s) => s >= 0);
        if (ways.length === 0) return 0;
        if (outline.isLine) return ways.reduce((sum, s) => sum + s, 0) / ways.length;
        const turn = 2 * Math.PI / outline.length;
        const x = ways.reduce((sum, s) => sum + Math.cos(s * turn), 0);
        const y = ways.reduce((sum, s) => sum + Math.sin(s * turn), 0);
        return ((Math.atan2(y, x) / turn) % outline.length + outline.length) % outline.length;
    }

    /**
     * How far out the middle of a box is: beyond the belt, or beyond what it stands behind.
     * @param {Outline} outline @param {Box} box @param {number} s
     */
    out(outline, box, s) {
        const {nx, ny} = outline.spot(s);
        const half = (/** @type {Box} */ one) =>
            Math.min(one.w / 2 / (Math.abs(nx) || 1e-9), one.h / 2 / (Math.abs(ny) || 1e-9));
        const before = this.neighbours[this.boxes.indexOf(box)]
                           .filter((end) => end.box >= 0)
                           .map((end) => this.boxes[end.box])
                           .filter((one) => one.home === box.home && one.depth === box.depth - 1);
        const from = box.depth === 1 ?
            outline.band / 2 + REACH :
            Math.max(...before.map((one) => one.out + half(one))) + REACH * 0.75;
        return from + half(box);
    }

    /** Room that a box needs along its outline. @param {Outline} outline @param {Box} box */
    need(outline, box) {
        const {nx, ny} = outline.spot(box.s);
        const along = Math.abs(ny) * box.w + Math.abs(nx) * box.h + MARGIN;
        return along / outline.stretch(box.s, this.out(outline, box, box.s) - box.h / 2);
    }

    /**
     * Moves boxes of one ring apart, each as little as may be. @param {Outline} outline
     * @param {Box[]} ring
     */
    spread(outline, ring) {
        ring.sort((a, b) => a.s - b.s || a.index - b.index);
        const wish = ring.map((box) => box.s), count = ring.length;
        for (let round = 0; round < 300 && count > 1; round++) {
            let moved = 0;
            for (let i = 0; i < (outline.isLine ? count - 1 : count); i++) {
                const a = ring[i], b = ring[(i + 1) % count];
                const gap = b.s - a.s + (i === count - 1 ? outline.length : 0);
                const lack = (this.need(outline, a) + this.need(outline, b)) / 2 - gap;
                if (lack <= 0.01) continue;
                a.s -= lack / 2;
                b.s += lack / 2;
                moved = Math.max(moved, lack);
            }
            if (moved < 0.5) break;
            if (round < 200)
                ring.forEach((box, i) => {
                    box.s += (wish[i] - box.s) * 0.02;
                });
        }
    }

    /** @param {Outline} outline @param {Box} box */
    stand(outline, box) {
        const spot = outline.spot(box.s);
        box.out = this.out(outline, box, box.s);
        box.x = spot.x + spot.nx * box.out;
        box.y = spot.y + spot.ny * box.out;
    }

    /** @param {Box} box @param {{outline: number, s: number}[]} ends */
    standBetween(box, ends) {
        box.x = box.y = 0;
        for (const end of ends) {
            const spot = this.spotOf(end), out = this.outlines[end.outline].band / 2 + REACH;
            box.x += (spot.x + spot.nx * out) / ends.length;
            box.y += (spot.y + spot.ny * out) / ends.length;
        }
    }

    /** Moves boxes that lie over each other or over a belt apart. */
    separate() {
        for (let round = 0; round < 120; round++) {
            let moved = false;
            const order = [...this.boxes].sort((a, b) => a.x - b.x || a.y - b.y);
            for (let i = 0; i < order.length; i++)
                for (let j = i + 1; j < order.length; j++) {
                    if (order[j].x - order[i].x > 220 + MARGIN) break;
                    moved = Layout.part(order[i], order[j]) || moved;
                }
            for (const box of this.boxes)
                for (const outline of this.outlines) moved = Layout.clear(outline, box) || moved;
            if (!moved) break;
        }
    }

    /** @param {Box} a @param {Box} b */
    static part(a, b) {
        const x = (a.w + b.w) / 2 + MARGIN - Math.abs(b.x - a.x);
        const y = (a.h + b.h) / 2 + MARGIN - Math.abs(b.y - a.y);
        if (x <= 0.1 || y <= 0.1) return false;
        const way = x < y ? 'x' : 'y', push = Math.min(x, y) / 2 * (b[way] >= a[way] ? 1 : -1);
        a[way] -= push;
        b[way] += push;
        return true;
    }

    /** @param {Outline} outline @param {Box} box */
    static clear(outline, box) {
        const {far, nx, ny} = outline.distance(box);
        const room =
            outline.band / 2 + REACH * 0.7 + Math.abs(nx) * box.w / 2 + Math.abs(ny) * box.h / 2;
        if (Math.abs(far) >= room - 0.1) return false;
        const push = far >= 0 ? room - far : -(room + far);
        box.x += nx * push;
        box.y += ny * push;
        return true;
    }

    findBounds() {
        let left = Infinity, top = Infinity, right = -Infinity, bottom = -Infinity;
        /** @param {number} x @param {number} y @param {number} w @param {number} h */
        const hold = (x, y, w, h) => {
            left = Math.min(left, x - w);
            right = Math.max(right, x + w);
            top = Math.min(top, y - h);
            bottom = Math.max(bottom, y + h);
        };
        for (const box of this.boxes) hold(box.x, box.y, box.w / 2 + 10, box.h / 2 + 14);
        for (const one of this.outlines)
            hold(
                one.x, one.y,
                one.isLine ? one.length / 2 + 20 : one.straight / 2 + one.radius + one.band,
                one.radius + one.band);
        if (left > right) hold(200, 100, 200, 100);
        return {left: left - 12, top: top - 12, right: right + 12, bottom: bottom + 12};
    }

    /** Both ends of an arm on the sheet. @param {number} arm @returns {[Point, Point]} */
    link(arm) {
        const {from, to} = this.ends[arm];
        const a = this.anchor(from), b = this.anchor(to);
        return [this.edge(from, a, b), this.edge(to, b, a)];
    }

    /** @param {ReturnType<Layout['end']>} end @returns {Point} */
    anchor(end) {
        return end.box >= 0 ? this.boxes[end.box] :
                              this.outlines[end.outline].middle(end.cell, end.lane);
    }

    /**
     * Where the way to another point leaves a box; the middle of a cell. @param {{box: number}}
     * end
     * @param {Point} from @param {Point} to @returns {Point}
     */
    edge(end, from, to) {
        if (end.box < 0) return {x: from.x, y: from.y};
        const {w, h} = this.boxes[end.box], x = to.x - from.x, y = to.y - from.y;
        const part = Math.min(w / 2 / (Math.abs(x) || 1e-9), h / 2 / (Math.abs(y) || 1e-9), 1);
        return {x: from.x + x * part, y: from.y + y * part};
    }
}
