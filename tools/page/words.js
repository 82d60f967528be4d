// SPDX-License-Identifier: GPL-3.0-or-later
// words.js - times, letters and colours of items, and sentences about what a part does.
'use strict';

/** H:MM:SS with as many decimals as a tick needs. @param {number} tick @param {number} perSecond */
function clockOf(tick, perSecond) {
    const seconds = Math.floor(tick / perSecond);
    const two = (/** @type {number} */ n) => String(n).padStart(2, '0');
    const part = (tick % perSecond) / perSecond;
    const decimals = part === 0 ? '' : part.toFixed(6).slice(1).replace(/0+$/, '');
    return `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${
               two(seconds % 60)}` +
        decimals;
}

/** A length of time in few words. @param {number} ticks @param {number} perSecond */
function spanOf(ticks, perSecond) {
    const seconds = ticks / perSecond;
    if (seconds < 60) return `${+ seconds.toFixed(2)} s`;
    if (seconds < 3600) return `${Math.floor(seconds / 60)} min ${Math.floor(seconds % 60)} s`;
    return `${Math.floor(seconds / 3600)} h ${Math.floor(seconds / 60) % 60} min`;
}

/** The tick that a typed time names; NaN: none. @param {string} text @param {number} perSecond */
function tickOf(text, perSecond) {
    const parts = text.trim().split(':');
    if (parts.length > 3 || !parts.every((part) => /^\d+(\.\d+)?$/.test(part))) return NaN;
    const seconds = parts.reduce((sum, part) => sum * 60 + Number(part), 0);
    return Math.floor(seconds * perSecond + 0.5);
}

/** One letter for each item where they differ by it, else two. @param {Item[]} items */
function lettersOf(items) {
    /** @type {string[]} */
    const letters = [];
    const used = new Set();
    for (const {name} of items) {
        const tries = [name[0].toUpperCase()];
        for (const next of name.slice(1)) tries.push(name[0].toUpperCase() + next);
        const same = items.filter((item) => item.name[0].toLowerCase() === name[0].toLowerCase());
        let letter = (same.length > 1 ? tries.slice(1) : tries).find((one) => !used.has(one));
        for (let n = 2; letter === undefined; n++)
            if (!used.has(tries[0] + n)) letter = tries[0] + n;
        used.add(letter);
        letters.push(letter);
    }
    return letters;
}

// Okabe and Ito, Color Universal Design, 2002 and 2008.
const ITEM_COLOURS =
    ['#0072b2', '#e69f00', '#009e73', '#cc79a7', '#56b4e9', '#d55e00', '#f0e442', '#8c8c8c'];
const MARK_SHAPES = ['disc', 'square', 'diamond'];

/** Relative luminance, WCAG 2.2. @param {string} colour #rrggbb */
function luminanceOf(colour) {
    const [r, g, b] = [1, 3, 5]
                          .map((at) => parseInt(colour.slice(at, at + 2), 16) / 255)
                          .map((c) => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** Of two colours, WCAG 2.2. @param {string} one @param {string} other */
function contrastOf(one, other) {
    const [low, high] = [luminanceOf(one), luminanceOf(other)].sort((a, b) => a - b);
    return (high + 0.05) / (low + 0.05);
}

/**
 * So much of another colour in one. @param {string} one @param {string} other @param {number}
 * share
 */
function mixOf(one, other, share) {
    const parts = [1, 3, 5].map((at) => {
        const [a, b] = [one, other].map((colour) => parseInt(colour.slice(at, at + 2), 16));
        return Math.round(a + (b - a) * share).toString(16).padStart(2, '0');
    });
    return `#${parts.join('')}`;
}

/** @param {number} item */
function markOf(item) {
    const fill = ITEM_COLOURS[item % ITEM_COLOURS.length];
    const shape = MARK_SHAPES[Math.floor(item / ITEM_COLOURS.length) % MARK_SHAPES.length];
    return {fill, shape, ink: luminanceOf(fill) > 0.19 ? '#111111' : '#ffffff'};
}

/** "3 comb, 1 spring". @param {Plan} plan @param {[number, number][]} pairs */
function listOf(plan, pairs) {
    const some = pairs.filter(([, count]) => count > 0);
    return some.length === 0 ?
        'nothing' :
        some.map(([item, count]) => `${count} ${plan.items[item].name}`).join(', ');
}

/** "ring/outer at cell 4", "tray". @param {Plan} plan @param {Place} place */
function placeOf(plan, place) {
    if (place.kind === 'chest') return plan.chests[place.index].name;
    if (place.kind === 'station') return plan.stations[place.index].name;
    const lines = plan.tracks.length - plan.lines.length;
    const track = place.kind === 'lane' ? place.index : lines + place.index;
    return `${plan.tracks[track]} at cell ${place.cell}`;
}

/**
 * What is in a chest. @param {Moment} moment @param {number} chest
 * @returns {[number, number][]}
 */
function contentsOf(moment, chest) {
    const items = moment.plan.items.length;
    return moment.plan.items.map((_, item) => [item, moment.count[chest * items + item]]);
}

/**
 * The gate of an arm, station or supply; -1: it has none. @param {Plan} plan @param {string} kind
 * @param {number} owner
 */
function gateOf(plan, kind, owner) {
    return plan.gates.findIndex((gate) => gate.kind === kind && gate.owner === owner);
}

/**
 * What an arm does, for how long, and what it may wait for. @param {Moment} moment
 * @param {number} arm
 */
function armSentence(moment, arm) {
    const {plan} = moment, {name, from, to} = plan.arms[arm];
    const state = ARM_STATES[moment.armState[arm]];
    const lasted = spanOf(moment.tick - moment.armSince[arm], plan.ticks_per_second);
    const hand = listOf(plan, moment.hand[arm]);
    const gate = gateOf(plan, 'arm', arm);
    /** @type {Record<string, string>} */
    const doing = {
        reaching: gate >= 0 && moment.gateOpen[gate] === 0 ?
            `waits at ${placeOf(plan, from)} for its gate, which is shut: ${
                plan.gates[gate].text}` :
            `waits at ${placeOf(plan, from)} for something to take, and for room where it puts it`,
        carrying: `carries ${hand} to ${placeOf(plan, to)}`,
        placing: to.kind === 'lane' || to.kind === 'line' ?
            `holds ${hand} and waits for a free place on ${placeOf(plan, to)}` :
            `holds ${hand} and puts it into ${placeOf(plan, to)}`,
        returning: `comes back to ${placeOf(plan, from)}`,
        stopped: `is stopped; it holds ${hand}`,
    };
    return `${name}, ${state} for ${lasted}: ${doing[state]}.`;
}

/** @param {Moment} moment @param {number} station */
function stationSentence(moment, station) {
    const {plan} = moment, {name, takes, makes, time, varies} = plan.stations[station];
    const state = STATION_STATES[moment.stationState[station]];
    const lasted = spanOf(moment.tick - moment.stationSince[station], plan.ticks_per_second);
    const stock = takes.map(
        ([item], i) =>
            /** @type {[number, number]} */ ([item, moment.count[moment.firstInput[station] + i]]));
    const made = makes.map(
        ([item], i) =>
            /** @type {[number, number]} */ (
                [item, moment.count[moment.firstOutput[station] + i]]));
    const short = takes.filter(([, count], i) => stock[i][1] < count)
                      .map(([item]) => plan.items[item].name)
                      .join(', ');
    const gate = gateOf(plan, 'station', station);
    const batch = moment.batchSince[station];
    /** @type {Record<string, string>} */
    const doing = {
        working: batch < 0 ?
            'it works' :
            `batch begun ${spanOf(moment.tick - batch, plan.ticks_per_second)} ago, ` +
                `${varies ? 'about ' : 'of '}${spanOf(time, plan.ticks_per_second)}`,
        starved: `it lacks ${short}`,
        blocked: 'its outputs have no room until they are taken away',
        gated: gate >= 0 ? `its gate is shut: ${plan.gates[gate].text}` : 'it begins in this tick',
        stopped: 'something holds it',
    };
    return `${name}, ${state} for ${lasted}: ${doing[state]}. In stock: ${listOf(plan, stock)}; ` +
        `made and waiting: ${listOf(plan, made)}.`;
}

/** @param {Moment} moment @param {number} chest */
function chestSentence(moment, chest) {
    const {plan} = moment, {name, capacities, limits} = plan.chests[chest];
    const capacity = valueAt(capacities, moment.tick);
    const pairs = contentsOf(moment, chest);
    const total = pairs.reduce((sum, [, count]) => sum + count, 0);
    const bound = capacity === null ? '' : ` of ${capacity}`;
    const single =
        limits.map(([item, limit]) => `${plan.items[item].name} up to ${limit}`).join(', ');
    const read = plan.gates.filter(
        (gate) => gate.leaves.some((leaf) => leaf.reads === 'chest' && leaf.subject === chest));
    const owners = read.map((gate) => ownerOf(plan, gate).name);
    const brought = plan.supplies.filter((one) => one.chest === chest)
                        .map(({name: supply, item}) => `${supply} brings ${plan.items[item].name}`);
    const taken = plan.demands.filter((one) => one.chest === chest)
                      .map(({name: demand, item}) => `${demand} takes ${plan.items[item].name}`);
    const streams = [...brought, ...taken].join('; ');
    return `${name} holds ${total}${bound}: ${listOf(plan, pairs)}` +
        `${single === '' ? '' : ` (${single})`}.${
               streams === '' ? '' : ` From outside: ${streams}.`}` +
        `${owners.length === 0 ? '' : ` Gates that read it: ${owners.join(', ')}.`}`;
}
