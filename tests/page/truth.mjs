// SPDX-License-Identifier: GPL-3.0-or-later
// truth.mjs - where everything is at a tick, worked out from the tables of a run and the rules in
// docs/rules.md alone: nothing here is shared with the page.
import {readFileSync} from 'node:fs';

/** Rows of a CSV table as objects. @param {string} path */
export function rowsOf(path) {
    const [head, ...lines] = readFileSync(path, 'utf8').trimEnd().split('\n');
    const names = head.split(',');
    return lines.map(
        (line) => Object.fromEntries(line.split(',').map((field, i) => [names[i], field])));
}

/**
 * What lies on belts and in hands after each tick. Belts: name of lane or line to
 * {cells, rate: [numerator, denominator] of cells a second, isLine}.
 */
export class Truth {
    /**
     * @param {string} directory with moves.csv @param {Record<string, any>} belts
     * @param {Record<string, number>} lengths of items @param {number} ticksPerSecond
     */
    constructor(directory, belts, lengths, ticksPerSecond) {
        this.moves = rowsOf(`${directory}/moves.csv`);
        this.incidents =
            rowsOf(`${directory}/events.csv`)
                .map((row, i) => ({...row, number: i}))
                .filter((row) => ['drop', 'clear', 'stop', 'start'].includes(row.event));
        this.belts = belts;
        this.lengths = lengths;
        this.ticksPerSecond = ticksPerSecond;
        this.restart();
    }

    restart() {
        this.tick = -1;
        this.nextMove = this.nextIncident = 0;
        this.hands = {};
        this.lanes = {};
        this.running = {};
        this.start = {};
        for (const name of Object.keys(this.belts)) {
            this.lanes[name] = [];
            this.running[name] = 0;  // how many hold it
            this.start[name] = 0;
        }
    }

    /** True when the belt steps in this tick: step k is at start + ceil(k * tps / rate). */
    steps(name, tick) {
        const {rate: [numerator, denominator]} = this.belts[name];
        const since = BigInt(tick - this.start[name]);
        const made = (ticks) => ticks < 0n ?
            0n :
            ticks * BigInt(numerator) / (BigInt(denominator) * BigInt(this.ticksPerSecond));
        return this.running[name] === 0 && made(since) > made(since - 1n);
    }

    step(name) {
        const {cells, isLine} = this.belts[name];
        const lane = this.lanes[name];
        if (!isLine) {
            for (const one of lane) one.cell = (one.cell + 1) % cells;
            return;
        }
        const covered = new Set();
        for (const one of lane)
            for (let i = 0; i < this.lengths[one.item]; i++) covered.add(one.cell - i);
        for (const one of [...lane].sort((a, b) => b.cell - a.cell)) {
            if (one.cell + 1 >= cells || covered.has(one.cell + 1)) continue;
            covered.add(one.cell + 1);
            covered.delete(one.cell - this.lengths[one.item] + 1);
            one.cell++;
        }
    }

    /** Head cells from 0 on are tried once each. */
    drop(name, item, count) {
        const {cells, isLine} = this.belts[name], length = this.lengths[item];
        let left = count;
        for (let p = 0; p < cells && left > 0; p++) {
            const covered = new Set();
            for (const one of this.lanes[name])
                for (let i = 0; i < this.lengths[one.item]; i++)
                    covered.add(((one.cell - i) % cells + cells) % cells);
            const wanted = Array.from({length}, (_, i) => p - i);
            if (isLine && wanted.some((cell) => cell < 0)) continue;
            if (wanted.some((cell) => covered.has((cell + cells) % cells))) continue;
            this.lanes[name].push({cell: p, item});
            left--;
        }
    }

    incident(row) {
        const names = Object.keys(this.belts);
        const name = row.lane ? `${row.loop}/${row.lane}` : row.subject;
        if (row.event === 'drop') this.drop(name, row.item, Number(row.count));
        if (row.event === 'clear')
            this.lanes[name] =
                this.lanes[name].filter((one) => !row.item.split(' ').includes(one.item));
        if (row.event !== 'stop' && row.event !== 'start') return;
        for (const belt of names.filter(
                 (one) => one === row.subject || one.startsWith(`${row.subject}/`))) {
            const held = row.event === 'stop' ? 1 : 0;
            if (this.running[belt] === 1 && held === 0) this.start[belt] = this.tick;
            this.running[belt] = held;
        }
    }

    move({arm, act, item, count, place, cell}) {
        const hand = this.hands[arm] ??= {}, belt = this.lanes[place];
        const sign = act === 'pick' ? 1 : -1;
        hand[item] = (hand[item] ?? 0) + sign * Number(count);
        if (hand[item] === 0) delete hand[item];
        if (belt === undefined || cell === '') return;
        if (act === 'place')
            belt.push({cell: Number(cell), item});
        else {
            const at = belt.findIndex((one) => one.cell === Number(cell) && one.item === item);
            if (at < 0) throw new Error(`tick ${this.tick}: nothing to pick at ${place}@${cell}`);
            belt.splice(at, 1);
        }
    }

    next() {
        const tick = ++this.tick;
        for (const name of Object.keys(this.belts))
            if (this.steps(name, tick)) this.step(name);
        for (; this.nextIncident < this.incidents.length; this.nextIncident++) {
            const row = this.incidents[this.nextIncident];
            if (Math.floor(Number(row.start_s) * this.ticksPerSecond + 0.5) > tick) break;
            this.incident(row);
        }
        for (; this.nextMove < this.moves.length; this.nextMove++) {
            if (Number(this.moves[this.nextMove].tick) > tick) break;
            this.move(this.moves[this.nextMove]);
        }
    }

    /** After a tick, not before the last one that was asked for. */
    at(tick) {
        while (this.tick < tick) this.next();
        const lanes = {}, hands = {};
        for (const [name, lane] of Object.entries(this.lanes))
            lanes[name] = lane.map((one) => [one.cell, one.item]).sort((a, b) => a[0] - b[0]);
        for (const [arm, hand] of Object.entries(this.hands))
            if (Object.keys(hand).length > 0) hands[arm] = {...hand};
        return {lanes, hands};
    }
}
