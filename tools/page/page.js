// SPDX-License-Identifier: GPL-3.0-or-later
// page.js - time goes on, back and to where one points; everything on the page follows.
'use strict';

const SPEED_FRAMES_CALM = 500;  // milliseconds between pictures where less motion is preferred

/** @template {HTMLElement} T @param {string} id @returns {T} */
function byId(id) {
    return /** @type {T} */ (document.getElementById(id));
}

/** @param {string} tag @param {string} [text] @param {Record<string, string>} [attributes] */
function element(tag, text = '', attributes = {}) {
    const made = document.createElement(tag);
    made.textContent = text;
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    return made;
}

/**
 * Each text once, with how often it comes: "drop ring/outer (104 times)".
 * @param {string[]} texts @returns {string[]}
 */
function counted(texts) {
    /** @type {Map<string, number>} */
    const times = new Map();
    for (const text of texts) times.set(text, (times.get(text) ?? 0) + 1);
    return [...times].map(([text, count]) => count > 1 ? `${text} (${count} times)` : text);
}

/** A table from texts. @param {string[]} heads @param {(string | number)[][]} rows */
function tableOf(heads, rows) {
    const table = element('table'), head = element('thead'), body = element('tbody');
    const top = element('tr');
    for (const one of heads) top.append(element('th', one, {scope: 'col'}));
    head.append(top);
    for (const row of rows) {
        const line = element('tr');
        row.forEach(
            (field, i) =>
                line.append(element('td', String(field), i === 0 ? {class: 'name'} : {})));
        body.append(line);
    }
    table.append(head, body);
    return table;
}

class Page {
    constructor() {
        /** @type {Plan} */
        this.plan = JSON.parse(byId('plan').textContent ?? '');
        this.rate = this.plan.ticks_per_second;
        this.playback = new Playback(this.plan, byId('packed').textContent ?? '');
        this.series = new Series(this.plan, byId('series').textContent ?? '');
        this.found = JSON.parse(byId('found').textContent ?? '[]');
        const [heads, ...rows] = JSON.parse(byId('event-rows').textContent ?? '[[]]');
        /** @type {string[]} */
        this.heads = heads;
        /**
         * @type {{number: number, tick: number, fields: string[], kind: string, subject:
         *     string}[]}
         */
        this.events = rows.map((/** @type {string[]} */ fields, /** @type {number} */ i) => ({
                                   number: i + 1,
                                   tick: Math.floor(Number(fields[0]) * this.rate + 0.5),
                                   fields,
                                   kind: fields[heads.indexOf('event')],
                                   subject: fields[heads.indexOf('subject')]
                               }));
        const detail = heads.indexOf('detail');
        learnSettings(
            this.plan, this.events.map((event) => ({...event, detail: event.fields[detail]})));
        this.tick = this.plan.first;
        this.shown = this.plan.first;  // of which the sheet shows the state
        this.playing = 0;
        /** @type {Target | null} */
        this.chosen = null;
        this.sheet = new Sheet(
            byId('sheet'), new Layout(this.plan, this.series.kinds), this.series.kinds,
            this.series.greatest);
        this.journey = new Journey(this.playback);
        this.charts = new Charts(this);
        this.eventTable = new EventTable(this);
        /** @type {ReturnType<typeof setTimeout> | undefined} */
        this.settling = undefined;
        this.following = false;
        /** @type {string | undefined} what the inspector says */
        this.said = undefined;
        /** The address is left alone. */
        this.quiet = false;
        /** The piece of which `moves` are known. */
        this.movesPiece = -1;
        /** @type {number[]} */
        this.moves = [];
        /** The time that playing has come to, and when that was. */
        this.due = 0;
        /** @type {number | undefined} */
        this.before = undefined;
        this.setUp();
    }

    get moment() {
        return this.playback.moment;
    }

    // ---- going to a moment ----

    /** Shows a tick that is recorded. @param {number} tick */
    show(tick) {
        if (!this.playback.knows(tick)) throw new RangeError(`tick ${tick} is not recorded`);
        this.goTo(tick);
    }

    /**
     * Shows a tick, or the sample nearest to it. @param {number} tick @param {boolean} [quick] the
     * address and slower things follow later
     */
    goTo(tick, quick = false) {
        this.tick = Math.min(Math.max(Math.round(tick), this.plan.first), this.plan.last);
        this.shown = this.playback.nearest(this.tick);
        this.playback.seek(this.shown);
        this.draw();
        byId('time-bar').setAttribute('aria-valuetext', this.clock(this.tick));
        /** @type {HTMLInputElement} */ (byId('time-bar')).value = String(this.tick);
        if (document.activeElement !== byId('time-text'))
            /** @type {HTMLInputElement} */ (byId('time-text')).value = this.clock(this.tick);
        this.charts.moveTo(this.tick);
        if (quick)
            this.settleSoon();
        else
            this.settle();
    }

    settleSoon() {
        if (this.settling !== undefined) return;
        this.settling = setTimeout(() => this.settle(), 250);
    }

    /** To a moment that one may want to come back from. @param {number} tick */
    jump(tick) {
        this.stop();
        history.pushState(null, '', location.hash || '#');
        this.goTo(tick);
    }

    /** What need not follow each picture: words, the address, the table. */
    settle() {
        clearTimeout(this.settling);
        this.settling = undefined;
        this.tellNow();
        this.tellChosen();
        if (/** @type {HTMLDetailsElement} */ (byId('here')).open) this.tellHere();
        this.eventTable.mark(this.tick);
        const chosen = this.chosen === null ? '' : this.nameOf(this.chosen);
        const hash = `#t=${this.clock(this.tick)}${chosen === '' ? '' : `&sel=${chosen}`}`;
        if (hash === location.hash || this.quiet) return;
        history.replaceState(null, '', hash);
    }

    /** @param {number} tick */
    clock(tick) {
        return clockOf(tick, this.rate);
    }

    /** @param {Target} target */
    nameOf(target) {
        const lists = {arm: this.plan.arms, chest: this.plan.chests, station: this.plan.stations};
        return target.kind === 'item' ? '' : lists[target.kind][target.index].name;
    }

    // ---- drawing ----

    draw() {
        this.sheet.chosen = this.chosen;
        const place = this.journey.placeAt(this.shown, this.moment);
        this.sheet.followed = place === null ? null : this.sheet.pointOf(place, this.moment);
        if (this.sheet.followed !== null && this.following && !this.sheet.isWhole)
            this.sheet.centre(this.sheet.followed);
        this.sheet.draw(this.moment);
    }

    tellNow() {
        const here = this.events.filter((event) => event.tick === this.tick);
        const open = this.events.filter(
            (event) => event.tick < this.tick && Number(event.fields[1]) * this.rate > this.tick &&
                event.kind !== 'emptied');
        const words = counted(here.map((event) => `${event.kind} ${event.subject}`.trim()));
        const lasting = open.slice(-4).map((event) => `${event.kind} ${event.subject}`.trim());
        const sampled = this.shown === this.tick ?
            '' :
            ` – not recorded in full here: the sheet shows ${this.clock(this.shown)}`;
        const now = byId('now');
        now.replaceChildren(
            element('strong', this.clock(this.tick)),
            ` ${words.length > 0 ? `: ${words.join('; ')}` : ''}` +
                `${lasting.length > 0 ? ` · lasting: ${lasting.join('; ')}` : ''}${sampled}`);
    }

    /** @param {Target} target */
    sentence(target) {
        if (target.kind === 'item')
            return `${this.plan.items[target.item].name} on ${this.plan.tracks[target.track]}, ` +
                `its head at cell ${target.cell}. ${this.takers(target)}`;
        const tell = {
            arm: armSentence,
            station: stationSentence,
            chest: chestSentence
        }[target.kind];
        return tell(this.moment, target.index);
    }

    /** Who could take an item off. @param {{track: number, item: number}} target */
    takers({track, item}) {
        const names =
            this.plan.arms
                .filter(
                    (arm) => this.moment.trackOf(arm.from) === track && arm.items.includes(item))
                .map((arm) => `${arm.name} at cell ${arm.from.cell}`);
        return names.length === 0 ? 'No arm takes it off here.' :
                                    `It rides to ${names.join(', or ')}.`;
    }

    tellChosen() {
        const place = byId('inspector');
        /** @type {(string | Node)[]} */
        const parts = [];
        if (this.chosen !== null && this.chosen.kind !== 'item')
            parts.push(this.sentence(this.chosen));
        if (this.journey.steps.length > 0) parts.push(this.journeyList());
        if (this.said ===
            parts.map((part) => typeof part === 'string' ? part : part.textContent).join())
            return;
        this.said = parts.map((part) => typeof part === 'string' ? part : part.textContent).join();
        place.replaceChildren(...parts);
    }

    journeyList() {
        const list = element('ol');
        for (const step of this.journey.steps) {
            const row = element('li'),
                  button =
                      element('button', this.clock(step.tick), {type: 'button', class: 'linkish'});
            button.addEventListener('click', () => this.jump(step.tick));
            row.append(button, ` ${step.words}`);
            list.append(row);
        }
        const box = element('div', `The way of this ${this.plan.items[this.journey.item].name}:`);
        box.append(list);
        return box;
    }

    /** All that the sheet shows, as tables. */
    tellHere() {
        const {plan, moment} = this, all = describeMoment(moment);
        const counted = (/** @type {Record<string, number>} */ object) =>
            Object.entries(object).map(([name, count]) => `${count} ${name}`).join(', ') ||
            'nothing';
        const lanes = Object.entries(all.lanes).map(
            ([name, items]) =>
                [name, items.length, items.map(([cell, item]) => `${item} at ${cell}`).join(', ')]);
        const arms = plan.arms.map(
            (arm, i) =>
                [arm.name, all.arms[arm.name], spanOf(moment.tick - moment.armSince[i], this.rate),
                 counted(all.hands[arm.name] ?? {}), placeOf(plan, arm.from),
                 placeOf(plan, arm.to)]);
        const stations = plan.stations.map(
            (one, i) =>
                [one.name, all.stations[one.name],
                 spanOf(moment.tick - moment.stationSince[i], this.rate),
                 counted(all.levels[`${one.name}/in`]), counted(all.levels[`${one.name}/out`])]);
        const chests = plan.chests.map(
            (one) =>
                [one.name, counted(all.levels[one.name]),
                 valueAt(one.capacities, moment.tick) ?? 'no bound']);
        const gates = plan.gates.map(
            (gate, i) =>
                [ownerOf(plan, gate).name, moment.gateOpen[i] === 1 ? 'open' : 'shut', gate.text]);
        byId('here-table')
            .replaceChildren(
                tableOf(['lane or line', 'items', 'heads at cells'], lanes),
                tableOf(['arm', 'state', 'for', 'holds', 'from', 'to'], arms),
                tableOf(['station', 'state', 'for', 'in stock', 'made'], stations),
                tableOf(['chest', 'holds', 'capacity'], chests),
                tableOf(['gate of', 'now', 'it reads'], gates));
    }

    // ---- going on and back ----

    /** @param {number} direction 1, -1; 0: pause */
    play(direction) {
        this.playing = this.playing === direction ? 0 : direction;
        byId('play').setAttribute('aria-pressed', String(this.playing === 1));
        byId('play-back').setAttribute('aria-pressed', String(this.playing === -1));
        byId('play').textContent = this.playing === 1 ? 'pause' : 'play';
        byId('now').setAttribute('aria-live', this.playing === 0 ? 'polite' : 'off');
        this.due = this.tick;
        this.before = undefined;
        if (this.playing !== 0)
            requestAnimationFrame((now) => this.frame(now));
        else
            this.settle();
    }

    /** @param {number} now */
    frame(now) {
        if (this.playing === 0) return;
        const calm = matchMedia('(prefers-reduced-motion: reduce)').matches;
        const passed = this.before === undefined ? 0 : now - this.before;
        if (!(calm && this.before !== undefined && passed < SPEED_FRAMES_CALM)) {
            const speed = Number(/** @type {HTMLSelectElement} */ (byId('speed')).value);
            this.due = this.due + this.playing * Math.min(passed, 1000) / 1000 * speed * this.rate;
            this.before = now;
            const tick = Math.floor(this.due);
            if (tick !== this.tick) this.goTo(tick, true);
            if (this.playing > 0 ? this.due >= this.plan.last : this.due <= this.plan.first)
                this.stop();
        }
        requestAnimationFrame((next) => this.frame(next));
    }

    stop() {
        if (this.playing !== 0) this.play(this.playing);
    }

    /** @param {number} by ticks */
    step(by) {
        this.stop();
        this.goTo(this.tick + by);
    }

    /** To the next tick in which an arm picks or places, or the one before. @param {number} way */
    stepMove(way) {
        this.stop();
        let piece = this.playback.pieceAt(this.tick);
        for (; piece >= 0 && piece < this.playback.pieces.length; piece += way) {
            const ticks = this.movesOf(piece);
            const found = way > 0 ? ticks.find((tick) => tick > this.tick) :
                                    [...ticks].reverse().find((tick) => tick < this.tick);
            if (found !== undefined) {
                this.goTo(found);
                return;
            }
        }
        this.goTo(way > 0 ? this.plan.last : this.plan.first);
    }

    /** @param {number} piece */
    movesOf(piece) {
        if (this.movesPiece !== piece) {
            this.movesPiece = piece;
            this.moves = this.playback.movesIn(piece);
        }
        return this.moves;
    }

    /** @param {number} way */
    stepEvent(way) {
        this.stop();
        const found = way > 0 ? this.events.find((event) => event.tick > this.tick) :
                                [...this.events].reverse().find((event) => event.tick < this.tick);
        if (found !== undefined) this.goTo(found.tick);
    }

    /** The first jam, deadlock or clog; undefined: none. */
    get jam() {
        return this.events.find((event) => ['jam', 'deadlock', 'clogged'].includes(event.kind));
    }

    // ---- choosing ----

    /** @param {Target | null} target */
    choose(target) {
        this.chosen = target;
        this.following = false;
        const picker = /** @type {HTMLSelectElement} */ (byId('pick'));
        picker.value =
            target === null || target.kind === 'item' ? '' : `${target.kind}:${target.index}`;
        const isItem = target !== null && target.kind === 'item';
        this.journey.clear();
        if (target !== null && target.kind === 'item')
            this.journey.find(this.shown, target.track, target.cell, target.item);
        /** @type {HTMLButtonElement} */ (byId('follow')).disabled = !isItem;
        byId('follow').setAttribute('aria-pressed', 'false');
        this.said = undefined;
        this.draw();
        this.settle();
    }

    /** Chooses the next item on a belt, after the one that is chosen. */
    chooseItem() {
        /** @type {Target[]} */
        const all = this.plan.tracks.flatMap(
            (_, track) =>
                this.moment.itemsOn(track)
                    .filter(({item}) => this.sheet.only === null || item === this.sheet.only)
                    .map(({cell,
                           item}) => /** @type {Target} */ ({kind: 'item', track, cell, item})));
        const place = this.journey.placeAt(this.shown, this.moment);
        const at = all.findIndex(
            (one) => place !== null && one.kind === 'item' && place.kind === 'item' &&
                one.track === place.track && one.cell === place.cell);
        if (all.length > 0) this.choose(all[(at + 1) % all.length]);
    }

    follow() {
        this.following = !this.following;
        byId('follow').setAttribute('aria-pressed', String(this.following));
        if (this.following && this.sheet.isWhole)
            this.sheet.zoom(Math.max(1.6 / this.sheet.scale, 1));
        this.draw();
    }

    // ---- setting up ----

    setUp() {
        for (const hidden of document.querySelectorAll('[hidden].controls, [hidden].sheet'))
            /** @type {HTMLElement} */ (hidden).hidden = false;
        const bar = /** @type {HTMLInputElement} */ (byId('time-bar'));
        bar.min = String(this.plan.first);
        bar.max = String(this.plan.last);
        this.setUpButtons();
        this.setUpPointer();
        this.setUpChoices();
        document.addEventListener('keydown', (event) => this.key(event));
        window.addEventListener('resize', () => this.resize());
        window.addEventListener('hashchange', () => this.readHash());
        for (const media of ['(prefers-color-scheme: dark)', 'print'])
            matchMedia(media).addEventListener('change', () => this.resize());
        this.tellRecorded();
        this.drawLegend();
        this.quiet = true;  // the address stays as it is until something is done
        this.resize();
        this.readHash();
        this.quiet = false;
    }

    setUpButtons() {
        /** @type {[string, () => void][]} */
        const buttons = [
            ['play', () => this.play(1)],
            ['play-back', () => this.play(-1)],
            ['next-tick', () => this.step(1)],
            ['back-tick', () => this.step(-1)],
            ['next-move', () => this.stepMove(1)],
            ['back-move', () => this.stepMove(-1)],
            ['next-event', () => this.stepEvent(1)],
            ['back-event', () => this.stepEvent(-1)],
            ['zoom-in', () => this.zoom(1.4)],
            ['zoom-out', () => this.zoom(1 / 1.4)],
            ['zoom-all', () => this.zoom(0)],
            ['follow', () => this.follow()],
            ['go-left', () => this.pan(-0.3, 0)],
            ['go-right', () => this.pan(0.3, 0)],
            ['go-up', () => this.pan(0, -0.3)],
            ['go-down', () => this.pan(0, 0.3)],
        ];
        for (const [id, act] of buttons) byId(id).addEventListener('click', act);
        const bar = /** @type {HTMLInputElement} */ (byId('time-bar'));
        bar.addEventListener('input', () => {
            this.stop();
            this.goTo(Number(bar.value), true);
        });
        const text = /** @type {HTMLInputElement} */ (byId('time-text'));
        text.addEventListener('change', () => {
            const tick = tickOf(text.value, this.rate);
            this.stop();
            this.goTo(Number.isNaN(tick) ? this.tick : tick);
            text.value = this.clock(this.tick);
        });
        this.setUpJumps();
        byId('here').addEventListener('toggle', () => this.tellHere());
    }

    setUpJumps() {
        const jumps = byId('jumps');
        /** @param {string} words @param {number} tick @param {string} id */
        const add = (words, tick, id) => {
            const button = element('button', words, {type: 'button', class: 'jump', id});
            button.addEventListener('click', () => this.jump(tick));
            jumps.append(button);
        };
        if (this.jam !== undefined)
            add(`to the ${this.jam.kind === 'clogged' ? 'clog' : this.jam.kind} (j)`, this.jam.tick,
                'to-jam');
        const turning =
            this.found.find((/** @type {any} */ one) => typeof one.turning_point_s === 'number');
        if (turning !== undefined)
            add('to its point of no return', Math.round(turning.turning_point_s * this.rate),
                'to-turning');
    }

    setUpPointer() {
        const canvas = this.sheet.canvas;
        /** @type {{x: number, y: number, moved: boolean} | null} */
        let drag = null;
        const at = (/** @type {MouseEvent} */ event) => {
            const box = canvas.getBoundingClientRect();
            return {x: event.clientX - box.left, y: event.clientY - box.top};
        };
        canvas.addEventListener('pointerdown', (event) => {
            drag = {...at(event), moved: false};
        });
        canvas.addEventListener('pointermove', (event) => {
            const {x, y} = at(event);
            if (drag === null || event.buttons === 0) {
                this.hover(x, y);
                return;
            }
            if (!drag.moved && Math.hypot(x - drag.x, y - drag.y) < 5) return;
            this.sheet.pan(drag.x - x, drag.y - y);
            drag = {x, y, moved: true};
            this.draw();
        });
        canvas.addEventListener('pointerup', (event) => {
            const {x, y} = at(event);
            if (drag !== null && !drag.moved) this.choose(this.sheet.hit(x, y, this.moment));
            drag = null;
        });
        canvas.addEventListener('pointerleave', () => {
            drag = null;
            byId('tip').hidden = true;
        });
        canvas.addEventListener('wheel', (event) => {
            if (!event.ctrlKey && !event.metaKey && this.sheet.isWhole && event.deltaY > 0) return;
            event.preventDefault();
            const {x, y} = at(event);
            this.sheet.zoom(Math.exp(-event.deltaY / 500), x, y);
            this.draw();
        }, {passive: false});
    }

    /** @param {number} x @param {number} y */
    hover(x, y) {
        const target = this.sheet.hit(x, y, this.moment), tip = byId('tip');
        tip.hidden = target === null;
        if (target === null) return;
        tip.textContent = this.sentence(target);
        const left =
            Math.min(x + 16, this.sheet.width - Math.min(tip.offsetWidth, this.sheet.width) - 4);
        tip.style.left = `${Math.max(left, 4)}px`;
        tip.style.top = `${
            y + 18 + tip.offsetHeight > this.sheet.height ? y - tip.offsetHeight - 12 : y + 18}px`;
    }

    setUpChoices() {
        const pick = /** @type {HTMLSelectElement} */ (byId('pick'));
        /** @type {[string, string, {name: string}[]][]} */
        const groups = [
            ['Arms', 'arm', this.plan.arms], ['Stations', 'station', this.plan.stations],
            ['Chests', 'chest', this.plan.chests]
        ];
        for (const [label, kind, parts] of groups) {
            const group = element('optgroup', '', {label});
            parts.forEach(
                (part, i) => group.append(element('option', part.name, {value: `${kind}:${i}`})));
            pick.append(group);
        }
        pick.addEventListener('change', () => {
            const [kind, index] = pick.value.split(':');
            const target =
                pick.value === '' ? null : /** @type {Target} */ ({kind, index: Number(index)});
            this.choose(target);
            if (target !== null && !this.sheet.isWhole) {
                this.sheet.centre(this.sheet.pointOf(target, this.moment));
                this.draw();
            }
        });
        const only = /** @type {HTMLSelectElement} */ (byId('only'));
        this.plan.items.forEach(
            (item, i) => only.append(element('option', item.name, {value: String(i)})));
        only.addEventListener('change', () => {
            this.sheet.only = only.value === '' ? null : Number(only.value);
            this.draw();
        });
    }

    /** @param {number} factor 0: all */
    zoom(factor) {
        if (factor === 0)
            this.sheet.showAll();
        else
            this.sheet.zoom(factor);
        this.draw();
    }

    /** @param {number} x in widths of the view @param {number} y */
    pan(x, y) {
        this.sheet.pan(x * this.sheet.width, y * this.sheet.height);
        this.draw();
    }

    resize() {
        this.sheet.resize();
        this.goTo(this.tick);
        this.drawMarks();
        this.charts.resize();
    }

    /** @param {KeyboardEvent} event */
    key(event) {
        const field = /** @type {HTMLElement} */ (event.target).closest('input, select, textarea');
        if (field !== null && field.id !== 'time-bar') return;
        if (event.ctrlKey || event.altKey || event.metaKey) return;
        const onButton = /** @type {HTMLElement} */ (event.target).closest('button, summary, a');
        if (onButton !== null && (event.key === ' ' || event.key === 'Enter')) return;
        /** @type {Record<string, () => void>} */
        const keys = {
            ' ': () => this.play(1),
            b: () => this.play(-1),
            ArrowRight: () => this.stepMove(1),
            ArrowLeft: () => this.stepMove(-1),
            '.': () => this.step(1),
            ',': () => this.step(-1),
            n: () => this.stepEvent(1),
            p: () => this.stepEvent(-1),
            Home: () => this.step(this.plan.first - this.tick),
            End: () => this.step(this.plan.last - this.tick),
            j: () => this.jam !== undefined && this.step(this.jam.tick - this.tick),
            i: () => this.chooseItem(),
            f: () => this.journey.item >= 0 && this.follow(),
            g: () => byId('time-text').focus(),
            '+': () => this.zoom(1.4),
            '=': () => this.zoom(1.4),
            '-': () => this.zoom(1 / 1.4),
            0: () => this.zoom(0),
            Escape: () => this.choose(null),
        };
        if (keys[event.key] === undefined) return;
        event.preventDefault();
        keys[event.key]();
        if (event.key === 'g') /** @type {HTMLInputElement} */
            (byId('time-text')).select();
    }

    /** #t=0:12:03.5&sel=comb-feeder */
    readHash() {
        const parts = new URLSearchParams(location.hash.slice(1));
        const time = parts.get('t');
        if (time === null) return;
        const tick = tickOf(time, this.rate);
        const name = parts.get('sel');
        if (name !== null && (this.chosen === null || this.nameOf(this.chosen) !== name))
            this.chooseNamed(name);
        if (Number.isNaN(tick)) return;
        this.stop();
        this.goTo(tick);
        byId('moving').scrollIntoView();
    }

    /** @param {string} name */
    chooseNamed(name) {
        /** @type {['arm' | 'station' | 'chest', {name: string}[]][]} */
        const lists =
            [['arm', this.plan.arms], ['station', this.plan.stations], ['chest', this.plan.chests]];
        for (const [kind, parts] of lists) {
            const index = parts.findIndex((part) => part.name === name);
            if (index >= 0) this.chosen = {kind, index};
        }
    }

    /** Says what is recorded in full. */
    tellRecorded() {
        const {stretches} = this.playback,
              list =
                  stretches.map(([first, last]) => `${this.clock(first)} to ${this.clock(last)}`);
        const whole = stretches.length === 1 && stretches[0][0] === this.plan.first &&
            stretches[0][1] === this.plan.last;
        byId('recorded').textContent = whole ?
            'Every move of the run is recorded here.' :
            `Recorded move by move: ${list.join('; ')}. Of the rest the sheet shows samples, ` +
                'and says of which moment.';
    }

    drawLegend() {
        const legend = byId('legend');
        this.plan.items.forEach((item, i) => {
            const {fill, shape, ink} = markOf(i), row = element('span');
            const form = shape === 'disc' ? '<circle cx="10" cy="10" r="8.5"/>' :
                shape === 'square'        ? '<rect x="2" y="2" width="16" height="16"/>' :
                                            '<path d="M10 0.5 19.5 10 10 19.5 0.5 10Z"/>';
            const letter = this.sheet.letters[i];
            row.innerHTML = `<svg viewBox="0 0 20 20" aria-hidden="true"><g fill="${fill}" ` +
                `stroke="currentColor">${form}</g><text x="10" y="14" text-anchor="middle" fill="${
                                ink}" ` +
                `font-size="${letter.length > 1 ? 9 : 12}" font-weight="700" ` +
                `font-family="system-ui, sans-serif">${letter}</text></svg>`;
            row.append(item.name);
            legend.append(row);
        });
        const line = 'fill="none" stroke="currentColor" stroke-width="1.6"';
        const hand = `<path d="M17 10 13.5 16H6.5L3 10 6.5 4h7Z" ${line}/>`;
        const posts = `<path d="M4 2H16M4 18H16" ${line}/>`;
        const shut = `<path d="M4 2H16M4 18H16M10 2V18" ${line}/>`;
        const level = `<path d="M2 7H18V13H2ZM12 4V16" ${line}/>`;
        /** @type {[string, string][]} */
        const signs = [
            [hand, 'hand of an arm'], [shut, 'gate, shut'], [posts, 'gate, open'],
            [level, 'level, with a threshold'],
            ['<path d="M3 5 12 10 3 15Z" fill="currentColor"/>', 'brought in, taken out by orders']
        ];
        for (const [path, words] of signs) {
            const row = element('span');
            row.innerHTML = `<svg viewBox="0 0 20 20" aria-hidden="true">${path}</svg>`;
            row.append(words);
            legend.append(row);
        }
    }

    /**
     * Events above the time bar: troubles tall, others short; what is not recorded in full is
     * hatched.
     */
    drawMarks() {
        const canvas = /** @type {HTMLCanvasElement} */ (byId('time-marks'));
        const box = canvas.getBoundingClientRect(), ratio = window.devicePixelRatio || 1;
        canvas.width = Math.round(box.width * ratio);
        canvas.height = Math.round(box.height * ratio);
        const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
        context.scale(ratio, ratio);
        const {ink} = this.sheet, {first, last} = this.plan;
        const x = (/** @type {number} */ tick) =>
            8 + (tick - first) / Math.max(last - first, 1) * (box.width - 16);
        context.fillStyle = ink.bar;
        for (const piece of this.playback.pieces)
            if (!piece.whole)
                for (let at = x(piece.first); at < x(piece.last); at += 4)
                    context.fillRect(at, box.height - 6, 2, 6);
        for (const event of this.events) {
            const bad = ['jam', 'deadlock', 'clogged'].includes(event.kind);
            const odd = ['drop', 'clear', 'stop', 'start', 'set'].includes(event.kind);
            context.fillStyle = bad ? ink.alarm : odd ? ink.chosen : ink.edge;
            const high = bad ? box.height : odd ? box.height * 0.7 : box.height * 0.4;
            context.fillRect(
                x(event.tick) - (bad ? 1.5 : 0.5), box.height - high, bad ? 3 : 1.5, high);
        }
    }
}

/** The events, to sort and to filter; a row brings its moment. */
class EventTable {
    /** @param {Page} page */
    constructor(page) {
        this.page = page;
        this.sorted = 0;
        this.falling = false;
        for (const hidden of document.querySelectorAll('.events-choice'))
            /** @type {HTMLElement} */ (hidden).hidden = false;
        const kind = /** @type {HTMLSelectElement} */ (byId('event-kind'));
        for (const one of new Set(page.events.map((event) => event.kind)))
            kind.append(element('option', one, {value: one}));
        kind.addEventListener('change', () => this.fill());
        byId('event-words').addEventListener('input', () => this.fill());
        this.fill();
    }

    wanted() {
        const kind = /** @type {HTMLSelectElement} */ (byId('event-kind')).value;
        const words = /** @type {HTMLInputElement} */ (byId('event-words')).value.toLowerCase();
        const found = this.page.events.filter(
            (event) => (kind === '' || event.kind === kind) &&
                event.fields.join(' ').toLowerCase().includes(words));
        const column = this.sorted, numeric = column < 2 || this.page.heads[column] === 'count';
        found.sort(
            (a, b) => (numeric ? Number(a.fields[column]) - Number(b.fields[column]) :
                                 a.fields[column].localeCompare(b.fields[column])) ||
                a.number - b.number);
        return this.falling ? found.reverse() : found;
    }

    fill() {
        const most = 500, wanted = this.wanted(), table = element('table'), top = element('tr');
        this.page.heads.forEach((head, column) => {
            const cell = element('th', '', {
                scope: 'col',
                'aria-sort': column !== this.sorted ? 'none' :
                    this.falling                    ? 'descending' :
                                                      'ascending'
            });
            const button = element(
                'button',
                head +
                    (column !== this.sorted ? '' :
                         this.falling       ? ' ▾' :
                                              ' ▴'),
                {type: 'button'});
            button.addEventListener('click', () => {
                this.falling = this.sorted === column && !this.falling;
                this.sorted = column;
                this.fill();
            });
            cell.append(button);
            top.append(cell);
        });
        const head = element('thead'), body = element('tbody');
        head.append(top);
        for (const event of wanted.slice(0, most)) body.append(this.row(event));
        table.append(head, body);
        byId('event-table').replaceChildren(table);
        byId('event-count').textContent = wanted.length > most ?
            `the first ${most} of ${wanted.length}` :
            `${wanted.length} of ${this.page.events.length}`;
    }

    /** @param {Page['events'][number]} event */
    row(event) {
        const row = element('tr', '', {'data-tick': String(event.tick)});
        event.fields.forEach((field, column) => {
            const cell = element('td');
            if (column < 2) {
                const tick = Math.floor(Number(field) * this.page.rate + 0.5);
                const button =
                    element('button', this.page.clock(tick), {type: 'button', class: 'linkish'});
                button.addEventListener('click', () => this.page.jump(tick));
                cell.append(button);
            } else {
                cell.textContent = field;
            }
            row.append(cell);
        });
        return row;
    }

    /** @param {number} tick */
    mark(tick) {
        for (const row of byId('event-table').querySelectorAll('tr.here'))
            row.classList.remove('here');
        for (const row of byId('event-table').querySelectorAll(`tr[data-tick="${tick}"]`))
            row.classList.add('here');
    }
}

const page = new Page();

/** For scripts: what is where at any recorded tick. */
const loopwright = {
    /** First and last recorded tick. */
    ticks: [page.plan.first, page.plan.last],
    /** First and last tick of each stretch that is recorded in full. */
    stretches: page.playback.stretches,
    /** @param {number} tick */
    at: (tick) => {
        const scout = new Playback(page.plan, '');
        scout.pieces = page.playback.pieces;
        if (!page.playback.knows(tick)) throw new RangeError(`tick ${tick} is not recorded`);
        return describeMoment(scout.seek(tick));
    },
    /** @param {number} tick */
    show: (tick) => page.show(tick),
};
/** @type {any} */ (window).loopwright = loopwright;
