// SPDX-License-Identifier: GPL-3.0-or-later
// settings.js - capacities and thresholds over time: those of the scenario, until incidents set
// others.
'use strict';

/**
 * From a tick on it is so much; null: no bound.
 * @typedef {{tick: number, value: number | null}[]} Steps
 */

/** What it is at a tick. @param {Steps} steps @param {number} tick */
function valueAt(steps, tick) {
    return steps.findLast((step) => step.tick <= tick)?.value ?? null;
}

/** The same as sentences have it. @param {Steps} steps @param {(tick: number) => string} clock */
function stepsText(steps, clock, none = 'no bound') {
    return steps
        .map(({tick, value}, i) => `${i > 0 ? `from ${clock(tick)} on ` : ''}${value ?? none}`)
        .join(', ');
}

/** `below=30; reopen_below=20` @param {string} detail @param {string} key */
function settingOf(detail, key) {
    const pair = detail.split('; ').find((one) => one.startsWith(`${key}=`));
    if (pair === undefined) return undefined;
    const text = pair.slice(key.length + 1);
    return text === 'null' ? null : Number(text);
}

/**
 * Lets each chest of the plan know its capacities, and each part of a gate its thresholds. Only
 * gates of a single part can be set. @param {Plan} plan
 * @param {{tick: number, kind: string, subject: string, detail: string}[]} events
 */
function learnSettings(plan, events) {
    const sets = events.filter((event) => event.kind === 'set');
    /**
     * @param {number | null} first @param {string} subject @param {string} key
     * @returns {Steps}
     */
    const steps = (first, subject, key) =>
        [{tick: plan.first, value: first},
         ...sets.filter((event) => event.subject === subject).flatMap(({tick, detail}) => {
             const value = settingOf(detail, key);
             return value === undefined ? [] : [{tick, value}];
         })];
    for (const chest of plan.chests)
        chest.capacities = steps(chest.capacity, chest.name, 'capacity');
    for (const gate of plan.gates) {
        const owner = ownerOf(plan, gate).name;
        for (const leaf of gate.leaves)
            leaf.thresholds = steps(
                leaf.threshold, gate.leaves.length === 1 ? owner : '',
                leaf.below ? 'below' : 'at_least');
    }
}

/** The arm, station or supply that has a gate. @param {Plan} plan @param {Gate} gate */
function ownerOf(plan, gate) {
    return {arm: plan.arms, station: plan.stations, supply: plan.supplies}[gate.kind][gate.owner];
}
