// SPDX-License-Identifier: GPL-3.0-or-later
// journey.js - the way of one item, found in what was recorded: who took it from where, onto which
// belt, who took it off, where it ended. Items have no names; on a lane one is known by where it
// rides on the belt, on a line by its place in the queue, in a hand by those of its kind before it.
'use strict';

/**
 * @typedef {{from: number, until: number, arm: number, track: number, slot: number, cell: number}}
 * Stay in the hand of an arm, or on a track, put there at a cell
 */

const JOURNEY_PIECES = 40;  // that are looked through, backwards and forwards

class Journey {
    /** @param {Playback} playback */
    constructor(playback) {
        this.playback = playback;
        this.plan = playback.plan;
        /** @type {{tick: number, words: string}[]} */
        this.steps = [];
        /** @type {Stay[]} */
        this.stays = [];
        this.item = -1;
    }

    clear() {
        this.steps = [];
        this.stays = [];
        this.item = -1;
    }

    /**
     * Looks for the way of the item whose head is at a cell. @param {number} tick
     * @param {number} track @param {number} cell @param {number} item
     */
    find(tick, track, cell, item) {
        this.clear();
        this.item = item;
        const stay = this.findBegin(tick, track, cell);
        this.stays.push(stay);
        this.findEnd(stay, tick, cell);
        this.steps.sort((a, b) => a.tick - b.tick);
    }

    /** A playback of its own over the same recording. */
    scout() {
        const scout = new Playback(this.plan, '');
        scout.pieces = this.playback.pieces;
        return scout;
    }

    /**
     * What tells an item on a track from all others there. @param {Moment} moment
     * @param {number} track @param {number} cell @returns {number | object | undefined}
     */
    keyOf(moment, track, cell) {
        return track < moment.slots.length ?
            moment.slotAt(track, cell, moment.tick) :
            moment.queues[track - moment.slots.length].find((one) => one.head === cell);
    }

    /**
     * How it came onto the track; of a lane also in earlier pieces. @param {number} tick
     * @param {number} track @param {number} cell @returns {Stay}
     */
    findBegin(tick, track, cell) {
        const isLane = track < this.playback.moment.slots.length;
        const slot = isLane ? this.playback.moment.slotAt(track, cell, tick) : -1;
        /** @type {Stay} */
        const stay = {from: -1, until: Infinity, arm: -1, track, slot, cell};
        const last = this.playback.pieceAt(tick);
        for (let piece = last; piece >= 0 && piece > last - JOURNEY_PIECES && stay.from < 0;
             piece--) {
            if (!this.playback.pieces[piece].whole || (piece < last && !isLane)) break;
            const scout = this.scout();
            /** @type {Map<number, Move>} */
            const picks = new Map();
            /**
             * @type {Map<number | object | undefined, {placed: Move, picked: Move | undefined}>}
             */
            const begins = new Map();
            scout.onMove = (move) => {
                const arm = this.plan.arms[move.arm];
                if (move.item !== this.item) return;
                if (move.kind === 'pick')
                    picks.set(move.arm, move);
                else if (scout.moment.trackOf(arm.to) === track)
                    begins.set(
                        this.keyOf(scout.moment, track, arm.to.cell),
                        {placed: move, picked: picks.get(move.arm)});
            };
            scout.seek(Math.min(tick, scout.pieces[piece].last));
            const begin = begins.get(isLane ? slot : this.keyOf(scout.moment, track, cell));
            if (begin !== undefined) this.noteBegin(stay, begin.placed, begin.picked);
        }
        return stay;
    }

    /** @param {Stay} stay @param {Move} placed @param {Move | undefined} picked */
    noteBegin(stay, placed, picked) {
        const arm = this.plan.arms[placed.arm];
        stay.from = placed.tick;
        stay.cell = arm.to.cell;
        this.note(placed, `puts it onto ${placeOf(this.plan, arm.to)}`);
        if (picked === undefined) return;
        this.note(picked, `takes it from ${placeOf(this.plan, arm.from)}`);
        this.stays.push({
            from: picked.tick,
            until: placed.tick,
            arm: placed.arm,
            track: -1,
            slot: -1,
            cell: -1
        });
    }

    /** @param {Move} move @param {string} words */
    note(move, words) {
        this.steps.push({tick: move.tick, words: `${this.plan.arms[move.arm].name} ${words}`});
    }

    /**
     * Where it goes from a tick on, at which its head is at a cell. @param {Stay} begin
     * @param {number} tick @param {number} cell
     */
    findEnd(begin, tick, cell) {
        const scout = this.scout(), first = scout.pieceAt(tick);
        let stay = begin, ended = false, ahead = 0;
        scout.seek(tick);
        let key = this.keyOf(scout.moment, stay.track, cell);
        scout.onMove = (move) => {
            const arm = this.plan.arms[move.arm], at = scout.moment;
            if (ended || move.item !== this.item) return;
            if (stay.arm < 0 && move.kind === 'pick' && at.trackOf(arm.from) === stay.track &&
                this.keyOf(at, stay.track, arm.from.cell) === key) {
                ahead = at.hand[move.arm].find(([kind]) => kind === this.item)?.[1] ?? 0;
                this.note(move, `takes it off ${placeOf(this.plan, arm.from)}`);
                stay = this.goOn(stay, {
                    from: move.tick,
                    until: Infinity,
                    arm: move.arm,
                    track: -1,
                    slot: -1,
                    cell: -1
                });
            } else if (stay.arm === move.arm && move.kind === 'place') {
                const track = at.trackOf(arm.to);
                if (track >= 0 && ahead-- > 0) return;
                this.note(
                    move, `puts it ${track < 0 ? 'into' : 'onto'} ${placeOf(this.plan, arm.to)}`);
                ended = track < 0;
                key = track < 0 ? undefined : this.keyOf(at, track, arm.to.cell);
                if (ended)
                    stay.until = move.tick;
                else
                    stay = this.goOn(stay, {
                        from: move.tick,
                        until: Infinity,
                        arm: -1,
                        track,
                        slot: typeof key === 'number' ? key : -1,
                        cell: arm.to.cell
                    });
            }
        };
        for (let piece = first; !ended && piece < first + JOURNEY_PIECES; piece++) {
            scout.seek(scout.pieces[piece].last);
            if (ended || piece + 1 >= scout.pieces.length || !scout.pieces[piece + 1].whole) return;
            key = this.acrossPieces(scout, stay.track, key, piece + 1);
        }
    }

    /** @param {Stay} before @param {Stay} next @returns {Stay} */
    goOn(before, next) {
        before.until = next.from;
        this.stays.push(next);
        return next;
    }

    /**
     * Goes to the first tick of a piece; in a queue it has the same place there. @param {Playback}
     * scout
     * @param {number} track @param {number | object | undefined} key @param {number} piece
     */
    acrossPieces(scout, track, key, piece) {
        const {moment} = scout, line = track - moment.slots.length;
        const rank = line >= 0 ? moment.queues[line].findIndex((one) => one === key) : -1;
        scout.seek(scout.pieces[piece].first);
        return line >= 0 ? moment.queues[line][rank] : key;
    }

    /**
     * Where it is, for the sheet; null: nowhere that can be shown. @param {number} tick
     * @param {Moment} moment @returns {Target | null}
     */
    placeAt(tick, moment) {
        const stay = this.stays.find((one) => one.from <= tick && tick < one.until);
        if (stay === undefined) return null;
        if (stay.arm >= 0) return {kind: 'arm', index: stay.arm};
        if (stay.slot < 0) return this.placeOnLine(stay, tick);
        const cells = moment.slots[stay.track].length;
        const step = moment.stepAt(moment.beltOf[stay.track], tick) % cells;
        return {
            kind: 'item',
            track: stay.track,
            cell: (step - stay.slot + cells) % cells,
            item: this.item
        };
    }

    /** @param {Stay} stay @param {number} tick @returns {Target | null} */
    placeOnLine(stay, tick) {
        const scout = this.scout(), last = scout.pieceAt(tick);
        if (stay.from < 0 || !scout.knows(tick)) return null;
        scout.seek(stay.from);
        let key = this.keyOf(scout.moment, stay.track, stay.cell);
        for (let piece = scout.pieceAt(stay.from); piece < last; piece++) {
            scout.seek(scout.pieces[piece].last);
            key = this.acrossPieces(scout, stay.track, key, piece + 1);
        }
        scout.seek(tick);
        const found =
            scout.moment.queues[stay.track - scout.moment.slots.length].find((one) => one === key);
        return found === undefined ?
            null :
            {kind: 'item', track: stay.track, cell: found.head, item: this.item};
    }
}
