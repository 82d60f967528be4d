// SPDX-License-Identifier: GPL-3.0-or-later
// charts.js - the run over time, by uPlot: one axis of time for all, one moment, one zoom. A span
// of time shows its least and its greatest sample, never a mean (tools/page/series.h).
'use strict';

const PAD_RIGHT = 34, CHART_HEIGHT = 190, ROW_HEIGHT = 18, TABLE_ROWS = 60, LABEL_SIZE = 16;
const DASHES = [[], [8, 4], [2, 3], [10, 3, 2, 3]];
/** Of four colours each the lines are drawn alike: near ones differ. @param {number} item */
const dashOf = (item) => DASHES[Math.floor(item / 4) % DASHES.length];
/** Fill and pattern of each state of stations, then of arms. */
const STATE_LOOKS = {
    working: ['#009e73', ''],
    starved: ['#e69f00', 'dots'],
    blocked: ['#d55e00', 'falling'],
    gated: ['#9a9a9a', ''],
    stopped: ['#333333', 'cross'],
    reaching: ['--bar', ''],
    carrying: ['#009e73', ''],
    placing: ['#d55e00', 'falling'],
    returning: ['#56b4e9', 'rising'],
};

/** What tools/page/series.h packs. */
class Series {
    /** @param {Plan} plan @param {string} text */
    constructor(plan, text) {
        const reader = packed.reader(text);
        this.plan = plan;
        this.ends = reader.list();
        this.tracks =
            plan.series.tracks.map((items) => ({
                                       ticks: reader.list(),
                                       cells: reader.list(),
                                       items: items.map((item) => ({item, values: reader.list()}))
                                   }));
        /** @type {Map<number, Float64Array>} */
        this.counts = new Map(plan.series.counts.map((count) => [count, reader.list()]));
        this.items = plan.series.items.map(
            (item) => ({item, made: reader.list(), asked: reader.list(), met: reader.list()}));
        this.stations = plan.stations.map(() => STATION_STATES.map(() => reader.list()));
        this.arms = plan.arms.map(() => ARM_STATES.map(() => reader.list()));
        const items = plan.items.length, chests = plan.chests.length;
        /** The kinds of items that were ever in each chest. */
        this.kinds = plan.chests.map(
            (_, chest) => plan.items.map((__, item) => item)
                              .filter((item) => this.counts.has(chest * items + item)));
        /** The most that was ever in each count of a chest. */
        this.greatest = Array.from(
            {length: chests * items}, (_, i) => Math.max(0, ...(this.counts.get(i) ?? [])));
    }

    /** The ticks of counts: two a span. */
    get halves() {
        const ticks = new Float64Array(this.ends.length * 2);
        for (let i = 0, before = this.plan.first; i < this.ends.length; before = this.ends[i++]) {
            ticks[2 * i] = (before + this.ends[i]) / 2;
            ticks[2 * i + 1] = this.ends[i];
        }
        return ticks;
    }
}

class Charts {
    /** @param {Page} page */
    constructor(page) {
        this.page = page;
        this.plan = page.plan;
        this.series = page.series;
        /** @type {any[]} */
        this.plots = [];
        /** @type {{element: HTMLElement, place: (tick: number) => void}[]} */
        this.lines = [];
        /** @type {(() => void)[]} */
        this.redraws = [];
        this.range = [
            this.plan.first / page.rate, Math.max(this.plan.last, this.plan.first + 1) / page.rate
        ];
        this.shown = this.range;
        this.cycling = false;
        this.level = this.firstLevel();
        /** Of the page when the charts were drawn last, and its colour. */
        this.width = 0;
        this.ink = '';
        for (const hidden of document.querySelectorAll('.charts-help'))
            /** @type {HTMLElement} */ (hidden).hidden = false;
        byId('chart-all').addEventListener('click', () => this.zoom(this.range[0], this.range[1]));
        byId('chart-closer').addEventListener('click', () => this.closer());
    }

    /** The chest shown first: one that a gate reads, else the first that held something. */
    firstLevel() {
        const leaf =
            this.plan.gates.flatMap((gate) => gate.leaves).find((one) => one.reads === 'chest');
        return leaf?.subject ??
            Math.max(0, this.series.kinds.findIndex((kinds) => kinds.length > 0));
    }

    /** All of them, anew: as wide as the page is now, in its colours. */
    resize() {
        const list = byId('chart-list'), width = list.clientWidth;
        if (width === this.width && this.ink === this.page.sheet.ink.paper) return;
        this.width = width;
        this.ink = this.page.sheet.ink.paper;
        for (const plot of this.plots) plot.destroy();
        this.plots = [];
        this.lines = [];
        this.redraws = [];
        list.replaceChildren();
        this.series.tracks.forEach((track, i) => this.addLane(list, track, i));
        if (this.series.kinds.some((kinds) => kinds.length > 0)) this.addLevels(list);
        if (this.series.items.length > 0) this.addProducts(list);
        this.addBands(
            list, 'Stations: what they did', this.plan.stations, this.series.stations,
            STATION_STATES);
        this.addBands(list, 'Arms: what they did', this.plan.arms, this.series.arms, ARM_STATES);
        this.moveTo(this.page.tick);
    }

    /** @param {number} tick */
    moveTo(tick) {
        for (const line of this.lines) line.place(tick / this.page.rate);
    }

    /** @param {number} from in seconds @param {number} to */
    zoom(from, to) {
        if (this.cycling || to <= from) return;
        this.cycling = true;
        this.shown = [from, to];
        for (const plot of this.plots) plot.setScale('x', {min: from, max: to});
        for (const redraw of this.redraws) redraw();
        this.moveTo(this.page.tick);
        this.cycling = false;
    }

    closer() {
        const middle = this.page.tick / this.page.rate, half = (this.shown[1] - this.shown[0]) / 4;
        this.zoom(Math.max(middle - half, this.range[0]), Math.min(middle + half, this.range[1]));
    }

    // ---- a frame for each ----

    /**
     * @param {HTMLElement} list @param {string} title @param {string} sentence
     * @param {() => [string[], (string | number)[][]]} rows of its table
     */
    frame(list, title, sentence, rows) {
        const figure = element('figure', '', {class: 'chart'}),
              plot = element('div', '', {class: 'plot'});
        const keys = element('div', '', {class: 'keys'});
        const table = element('details'), place = element('div');
        table.append(element('summary', 'as a table'), place);
        table.addEventListener('toggle', () => place.replaceChildren(tableOf(...rows())));
        figure.append(
            element('figcaption', title), element('p', sentence, {class: 'quiet'}), keys, plot,
            table);
        list.append(figure);
        return {figure, plot, keys};
    }

    /**
     * @param {HTMLElement} keys @param {string} words @param {string} colour @param {number[]}
     *     dash
     * @param {boolean} filled
     */
    addKey(keys, words, colour, dash, filled) {
        const row = element('span');
        row.innerHTML = `<svg viewBox="0 0 26 12" aria-hidden="true">${
            filled ? `<rect x="1" y="1" width="24" height="10" fill="${
                         colour}" stroke="currentColor"/>` :
                     `<path d="M1 6H25" stroke="${colour}" stroke-width="2.5" stroke-dasharray="${
                         dash.join(' ')}"/>`}</svg>`;
        row.append(words);
        keys.append(row);
    }

    /**
     * @param {HTMLElement} place @param {ArrayLike<number>[]} data @param {any[]} series
     * @param {Record<string, any>} more
     */
    plot(place, data, series, more) {
        const {ink} = this.page.sheet, {page} = this;
        const axis = {
            stroke: ink.text,
            grid: {stroke: ink.bar, width: 1},
            ticks: {stroke: ink.bar},
            font: '12px system-ui, sans-serif'
        };
        const plot =
            new uPlot(
                {
                    width: this.width,
                    height: CHART_HEIGHT,
                    padding: [8, PAD_RIGHT, 0, 0],
                    legend: {show: true},
                    cursor: {sync: {key: 'time'}, drag: {x: true, y: false}, points: {size: 6}},
                    scales: {
                        x: {
                            time: false,
                            min: this.shown[0],
                            max: this.shown[1],
                            range: (
                                /** @type {any} */ _, /** @type {number} */ min,
                                /** @type {number} */ max) => [min, max]
                        },
                        y: {
                            range:
                                (/** @type {any} */ _, /** @type {number} */ __,
                                 /** @type {number} */ max) =>
                                    [0, more.most ?? Math.max(max * 1.05, 1)]
                        }
                    },
                    axes: [
                        {
                            ...axis,
                            values: (/** @type {any} */ _, /** @type {number[]} */ values) =>
                                values.map((value) => clockOf(Math.round(value), 1)),
                            space: 80
                        },
                        {
                            ...axis,
                            size: this.axisLeft,
                            label: more.unit,
                            labelSize: LABEL_SIZE,
                            labelFont: '12px system-ui, sans-serif'
                        }
                    ],
                    series:
                        [
                            {
                                label: 'time',
                                value:
                                    (/** @type {any} */ _, /** @type {number} */ value) =>
                                        value === null || value === undefined ?
                                    '–' :
                                    page.clock(Math.round(value * page.rate))
                            },
                            ...series
                        ],
                    bands: more.bands ?? [],
                    hooks:
                        {
                            setScale:
                                [
                                    (/** @type {any} */ self, /** @type {string} */ key) => {
                                        if (key === 'x')
                                            this.zoom(self.scales.x.min, self.scales.x.max);
                                    }
                                ],
                            drawClear: [(/** @type {any} */ self) => this.drawEvents(self)],
                            draw: [(/** @type {any} */ self) => more.draw?.(self)]
                        },
                },
                data, place);
        this.plots.push(plot);
        this.addLine(plot.over, (seconds) => plot.valToPos(seconds, 'x'));
        plot.over.addEventListener('dblclick', () => this.zoom(this.range[0], this.range[1]));
        this.onClick(plot.over, (x) => plot.posToVal(x, 'x'));
    }

    /**
     * The moment that the sheet shows. @param {HTMLElement} place
     * @param {(seconds: number) => number} position
     */
    addLine(place, position) {
        const {ink} = this.page.sheet;
        const line = element('div', '', {'aria-hidden': 'true', class: 'moment'});
        Object.assign(line.style, {
            position: 'absolute',
            top: '0',
            bottom: '0',
            width: '0',
            borderLeft: `2px solid ${ink.chosen}`,
            pointerEvents: 'none'
        });
        place.append(line);
        this.lines.push({
            element: line,
            place: (seconds) => {
                const inside = seconds >= this.shown[0] && seconds <= this.shown[1];
                line.style.display = inside ? '' : 'none';
                line.style.left = `${position(seconds) - 1}px`;
            }
        });
    }

    /** @param {HTMLElement} place @param {(x: number) => number} secondsAt */
    onClick(place, secondsAt) {
        let down = 0;
        place.addEventListener('pointerdown', (event) => {
            down = event.clientX;
        });
        place.addEventListener('click', (event) => {
            if (Math.abs(event.clientX - down) > 3) return;
            const x = event.clientX - place.getBoundingClientRect().left;
            this.page.stop();
            this.page.goTo(Math.round(secondsAt(x) * this.page.rate));
        });
    }

    /**
     * Lines where troubles began and where something was done to the workshop. @param {any} self
     */
    drawEvents(self) {
        const {ink} = this.page.sheet, {ctx, bbox} = self;
        ctx.save();
        ctx.beginPath();
        ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
        ctx.clip();
        for (const event of this.page.events) {
            const bad = ['jam', 'deadlock', 'clogged'].includes(event.kind);
            if (!bad && !['drop', 'clear', 'stop', 'start', 'set'].includes(event.kind)) continue;
            const x = self.valToPos(event.tick / this.page.rate, 'x', true);
            ctx.strokeStyle = bad ? ink.alarm : ink.edge;
            ctx.lineWidth = bad ? 2 : 1;
            ctx.setLineDash(bad ? [] : [4, 4]);
            ctx.beginPath();
            ctx.moveTo(x, bbox.top);
            ctx.lineTo(x, bbox.top + bbox.height);
            ctx.stroke();
        }
        ctx.restore();
    }

    // ---- occupied share ----

    /** @param {HTMLElement} list @param {Series['tracks'][number]} track @param {number} index */
    addLane(list, track, index) {
        const {plan, page} = this, name = plan.tracks[index], times = this.seconds(track.ticks);
        const cells = page.moment.belts[page.moment.beltOf[index]].cells;
        const most = track.cells.reduce((top, value) => Math.max(top, value), 0);
        const {plot, keys} = this.frame(
            list, `${name}: occupied share, by item`,
            `At most ${most} of ${cells} cells are held, ${Math.round(100 * most / cells)} %.`,
            () => [
                ['time', 'cells held', ...track.items.map(({item}) => plan.items[item].name)],
                this.some(track.ticks.length)
                    .map(
                        (i) =>
                            [page.clock(track.ticks[i]), track.cells[i],
                             ...track.items.map(({values}) => values[i])])]);
        let below = new Float64Array(times.length);
        const sums = track.items.map(({item, values}) => {
            below =
                below.map((value, i) => value + 100 * values[i] * plan.items[item].length / cells);
            return below;
        });
        const series =
            track.items.map(({item, values}) => ({
                                label: plan.items[item].name,
                                stroke: page.sheet.ink.text,
                                width: 0.7,
                                fill: `${markOf(item).fill}`,
                                points: {show: false},
                                paths: uPlot.paths.stepped({align: 1}),
                                value:
                                    (/** @type {any} */ _, /** @type {any} */ __,
                                     /** @type {any} */ ___, /** @type {number} */ i) =>
                                        i === null || i === undefined ? '–' : String(values[i])
                            }));
        track.items.forEach(
            ({item}) => this.addKey(
                keys, `${page.sheet.letters[item]} ${plan.items[item].name}`, markOf(item).fill, [],
                true));
        this.plot(
            plot, [times, ...sums.reverse()], series.reverse(), {most: 100, unit: 'share, %'});
    }

    // ---- levels ----

    /** @param {HTMLElement} list */
    addLevels(list) {
        const {plan, page, series} = this, ticks = series.halves, items = plan.items.length;
        const pick = element('select', '', {'aria-label': 'levels of which chest'});
        plan.chests.forEach((chest, i) => {
            if (series.kinds[i].length > 0)
                pick.append(element('option', chest.name, {value: String(i)}));
        });
        /** @type {HTMLSelectElement} */ (pick).value = String(this.level);
        const {figure, plot, keys} = this.frame(
            list, 'Level of ', this.levelSentence(),
            () => [
                ['time', ...series.kinds[this.level].map((item) => plan.items[item].name)],
                this.some(ticks.length)
                    .map(
                        (i) =>
                            [page.clock(Math.round(ticks[i])),
                             ...series.kinds[this.level].map((item) => this.levelOf(item)[i])])]);
        /** @type {HTMLElement} */ (figure.querySelector('figcaption')).append(pick);
        pick.addEventListener('change', () => {
            this.level = Number(/** @type {HTMLSelectElement} */ (pick).value);
            this.width = 0;
            this.resize();
            byId('chart-list').querySelector('select')?.focus();
        });
        const kinds = series.kinds[this.level];
        kinds.forEach(
            (item) => this.addKey(
                keys, `${page.sheet.letters[item]} ${plan.items[item].name}`, this.lineColour(item),
                dashOf(item), false));
        this.plot(
            plot,
            [
                this.seconds(ticks),
                ...kinds.map((item) => series.counts.get(this.level * items + item) ?? [])
            ],
            kinds.map((item) => ({
                          label: plan.items[item].name,
                          stroke: this.lineColour(item),
                          width: 1.8,
                          dash: dashOf(item),
                          points: {show: false},
                          paths: uPlot.paths.stepped({align: 1})
                      })),
            {unit: 'items', draw: (/** @type {any} */ self) => this.drawThresholds(self)});
    }

    /** @param {number} item */
    levelOf(item) {
        return this.series.counts.get(this.level * this.plan.items.length + item) ??
            new Float64Array();
    }

    /** The gates that read this chest. */
    get thresholds() {
        return this.plan.gates.flatMap(
            (gate) =>
                gate.leaves.filter((leaf) => leaf.reads === 'chest' && leaf.subject === this.level)
                    .map((leaf) => ({...leaf, owner: ownerOf(this.plan, gate).name})));
    }

    levelSentence() {
        const {capacities} = this.plan.chests[this.level];
        const clock = (/** @type {number} */ tick) => this.page.clock(tick);
        const gates = this.thresholds.map(
            ({owner, item, below, thresholds}) =>
                `${owner} ${below ? 'below' : 'from'} ${stepsText(thresholds, clock)}${
                    item === null ? '' : ` ${this.plan.items[item].name}`}`);
        const room = stepsText(capacities, clock);
        return `${room.startsWith('no bound') ? room.replace('no', 'No') : `Room for ${room}`}${
            gates.length === 0 ? '; no gate reads it.' :
                                 `; gates open: ${gates.join('; ')} (dashed lines).`}`;
    }

    /**
     * What is drawn across the levels: each capacity and threshold while it holds, equal ones of
     * several gates once. @returns {{from: number, to: number, value: number, words: string[],
     * dash: number[]}[]}
     */
    levelLines() {
        const {plan} = this, lines = new Map();
        const add =
            (/** @type {Steps} */ steps, /** @type {string} */ words,
             /** @type {number[]} */ dash) => steps.forEach(({tick, value}, i) => {
                const to = steps[i + 1]?.tick ?? plan.last, key = `${tick} ${to} ${value} ${dash}`;
                if (value === null) return;
                const line = lines.get(key) ?? {from: tick, to, value, words: new Set(), dash};
                lines.set(key, line);
                line.words.add(words);
            });
        for (const {item, thresholds} of this.thresholds)
            add(thresholds, item === null ? 'all' : plan.items[item].name, [7, 5]);
        add(plan.chests[this.level].capacities, 'capacity', []);
        return [...lines.values()].map((line) => ({...line, words: [...line.words]}));
    }

    /** @param {any} self */
    drawThresholds(self) {
        const {ctx, bbox} = self, {ink} = this.page.sheet, right = bbox.left + bbox.width;
        ctx.save();
        ctx.font = `${12 * devicePixelRatio}px system-ui, sans-serif`;
        ctx.textAlign = 'right';
        for (const {from, to, value, words, dash} of this.levelLines()) {
            const y = self.valToPos(value, 'y', true);
            const x = (/** @type {number} */ tick) => Math.min(
                Math.max(self.valToPos(tick / this.page.rate, 'x', true), bbox.left), right);
            if (y < bbox.top || y > bbox.top + bbox.height || x(to) <= x(from)) continue;
            ctx.strokeStyle = ink.text;
            ctx.setLineDash(dash.map((part) => part * devicePixelRatio));
            ctx.lineWidth = 1.2 * devicePixelRatio;
            ctx.beginPath();
            ctx.moveTo(x(from), y);
            ctx.lineTo(x(to), y);
            ctx.stroke();
            const text = words.join(', '), place = 4 * devicePixelRatio;
            if (x(to) - x(from) < ctx.measureText(text).width + 2 * place) continue;
            ctx.fillStyle = ink.text;
            ctx.lineWidth = place;
            ctx.strokeStyle = ink.paper;
            ctx.setLineDash([]);
            ctx.strokeText(text, x(to) - place, y - place);
            ctx.fillText(text, x(to) - place, y - place);
        }
        ctx.restore();
    }

    /**
     * Of the line of an item: its own colour, as far towards that of the text as the contrast of a
     * line asks for (WCAG 2.2, 1.4.11). @param {number} item
     */
    lineColour(item) {
        const {paper, text} = this.page.sheet.ink, {fill} = markOf(item);
        let colour = fill;
        for (let share = 0.1; contrastOf(colour, paper) < 3 && share < 1; share += 0.1)
            colour = mixOf(fill, text, share);
        return colour;
    }

    // ---- products ----

    /** @param {HTMLElement} list */
    addProducts(list) {
        const {plan, page, series} = this, times = this.seconds(series.ends);
        const shown = series.items.filter(({asked}) => asked[asked.length - 1] > 0);
        const products = (shown.length > 0 ? shown : series.items).slice(0, 5);
        const words = products.map(
            ({item, made, asked, met}) => `${plan.items[item].name}: ` +
                `${made[made.length - 1]} made, ${asked[asked.length - 1]} asked for, ${
                                              met[met.length - 1]} met`);
        const {plot, keys} = this.frame(
            list, 'Products: made (solid) against asked for (dashed)', `${words.join('; ')}.`,
            () => [
                [
                    'time',
                    ...products.flatMap(
                        ({item}) => ['made', 'asked for', 'met'].map(
                            (word) => `${plan.items[item].name} ${word}`))
                ],
                this.some(times.length)
                    .map(
                        (i) =>
                            [page.clock(series.ends[i]),
                             ...products.flatMap(
                                 ({made, asked, met}) => [made[i], asked[i], met[i]])])]);
        products.forEach(({item}) => {
            this.addKey(keys, `${plan.items[item].name} made`, this.lineColour(item), [], false);
            this.addKey(
                keys, `${plan.items[item].name} asked for`, this.lineColour(item), [6, 4], false);
        });
        this.plot(
            plot, [times, ...products.flatMap(({made, asked}) => [made, asked])],
            products.flatMap(
                ({item}) =>
                    [{
                        label: `${plan.items[item].name} made`,
                        stroke: this.lineColour(item),
                        width: 2,
                        points: {show: false}
                    },
                     {
                         label: 'asked for',
                         stroke: this.lineColour(item),
                         width: 1.6,
                         dash: [6, 4],
                         points: {show: false}
                     }]),
            {unit: 'items so far'});
    }

    // ---- states ----

    /**
     * Of each part a row, of each span a column: what share of it was spent in each state.
     * @param {HTMLElement} list @param {string} title @param {{name: string}[]} parts
     * @param {Float64Array[][]} totals @param {string[]} states
     */
    addBands(list, title, parts, totals, states) {
        if (parts.length === 0) return;
        const most = 40, rows = parts.slice(0, most);
        const {plot, keys} = this.frame(
            list, title,
            'Each column is a short span of time, divided by what was ' +
                `done in it.${parts.length > most ? ` The first ${most} of ${parts.length}.` : ''}`,
            () => [
                [title.split(':')[0], ...states.map((state) => `${state}, %`)],
                parts.map((part, i) => [part.name, ...this.shares(totals[i], this.shown)])]);
        for (const state of states) this.addBandKey(keys, state);
        const canvas = /** @type {HTMLCanvasElement} */ (element('canvas', '', {
            class: 'bands',
            role: 'img',
            'aria-label': `${title}; the table below says the same`
        }));
        plot.append(canvas);
        const redraw = () => this.drawBands(canvas, rows, totals, states);
        this.redraws.push(redraw);
        redraw();
        const width = () => this.width - this.bandLeft - PAD_RIGHT;
        this.addLine(
            plot,
            (seconds) => this.bandLeft +
                (seconds - this.shown[0]) / (this.shown[1] - this.shown[0]) * width());
        this.onClick(
            plot,
            (x) => this.shown[0] + (x - this.bandLeft) / width() * (this.shown[1] - this.shown[0]));
    }

    /** Names of parts need more room than numbers. */
    get bandLeft() {
        return this.axisLeft + LABEL_SIZE;
    }

    /** Numbers need little room, names of parts more. */
    get axisLeft() {
        return this.width > 900 ? 116 : 58;
    }

    /** @param {HTMLElement} keys @param {string} state */
    addBandKey(keys, state) {
        const [fill, pattern] = STATE_LOOKS[/** @type {keyof typeof STATE_LOOKS} */ (state)];
        const strokes = {
            dots: 'M6 4v3M13 4v3M20 4v3',
            falling: 'M4 1 12 11M14 1 22 11',
            rising: 'M4 11 12 1M14 11 22 1',
            cross: 'M4 1 12 11M12 1 4 11M14 1 22 11M22 1 14 11',
            '': ''
        };
        const row = element('span');
        row.innerHTML =
            `<svg viewBox="0 0 26 12" aria-hidden="true">` +
            `<rect x="1" y="1" width="24" height="10" ` +
            `fill="${
                fill.startsWith('--') ? `var(${fill})` : fill}" stroke="currentColor"/><path d="${
                strokes[/** @type {keyof typeof strokes} */ (pattern)]}" ` +
            'stroke="#ffffff" stroke-width="1.6" fill="none"/></svg>';
        row.append(state);
        keys.append(row);
    }

    /**
     * Shares of each state between two times, in whole percents. @param {Float64Array[]} totals
     * @param {number[]} range
     */
    shares(totals, range) {
        const {ends} = this.series, {rate} = this.page;
        let from = ends.findIndex((end) => end / rate >= range[0]), to = ends.length - 1;
        while (to > from && ends[to - 1] / rate >= range[1]) to--;
        from = Math.max(from, 0);
        const spent = totals.map((list) => list[to] - (range[0] <= this.range[0] ? 0 : list[from]));
        const sum = spent.reduce((all, ticks) => all + ticks, 0) || 1;
        return spent.map((ticks) => Math.round(100 * ticks / sum));
    }

    /**
     * @param {HTMLCanvasElement} canvas @param {{name: string}[]} parts @param {Float64Array[][]}
     *     totals
     * @param {string[]} states
     */
    drawBands(canvas, parts, totals, states) {
        const {ends} = this.series, {rate, sheet: {ink}} = this.page, ratio = devicePixelRatio || 1;
        const left = this.bandLeft, width = this.width - left - PAD_RIGHT, named = this.width > 560;
        const row = ROW_HEIGHT + (named ? 0 : 12), height = parts.length * row + 20;
        canvas.width = Math.round(this.width * ratio);
        canvas.height = Math.round(height * ratio);
        canvas.style.height = `${height}px`;
        const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
        context.scale(ratio, ratio);
        context.textBaseline = 'middle';
        const looks = states.map((state) => this.look(context, state));
        const xOf = (/** @type {number} */ tick) =>
            left + (tick / rate - this.shown[0]) / (this.shown[1] - this.shown[0]) * width;
        parts.forEach((part, i) => {
            const top = i * row + (named ? 0 : 12);
            context.save();
            context.beginPath();
            context.rect(left, top, width, ROW_HEIGHT - 3);
            context.clip();
            for (let span = 0; span < ends.length; span++) {
                const from = span === 0 ? this.plan.first : ends[span - 1];
                const x = xOf(from), wide = xOf(ends[span]) - x;
                if (x > left + width || x + wide < left) continue;
                const spent =
                    totals[i].map((list) => list[span] - (span === 0 ? 0 : list[span - 1]));
                const sum = spent.reduce((all, ticks) => all + ticks, 0) || 1;
                let y = top + ROW_HEIGHT - 3;
                spent.forEach((ticks, state) => {
                    const high = ticks / sum * (ROW_HEIGHT - 3);
                    y -= high;
                    context.fillStyle = looks[state];
                    context.fillRect(x, y, wide + 0.5, high);
                });
            }
            context.restore();
            context.strokeStyle = ink.edge;
            context.lineWidth = 0.6;
            context.strokeRect(left, top, width, ROW_HEIGHT - 3);
            context.fillStyle = ink.text;
            context.font = `${named ? 10.5 : 10}px system-ui, sans-serif`;
            context.textAlign = named ? 'right' : 'left';
            context.fillText(
                this.shortened(context, part.name, named ? left - 6 : width),
                named ? left - 4 : left, named ? top + ROW_HEIGHT / 2 - 1 : top - 6);
        });
        context.fillStyle = ink.text;
        context.font = '12px system-ui, sans-serif';
        for (const [part, align] of /** @type {[number, CanvasTextAlign][]} */ (
                 [[0, 'left'], [0.5, 'center'], [1, 'right']])) {
            context.textAlign = align;
            context.fillText(
                clockOf(Math.round(this.shown[0] + part * (this.shown[1] - this.shown[0])), 1),
                left + part * width, height - 8);
        }
    }

    /** @param {CanvasRenderingContext2D} context @param {string} text @param {number} width */
    shortened(context, text, width) {
        if (context.measureText(text).width <= width) return text;
        let end = text.length;
        while (end > 1 && context.measureText(`${text.slice(0, end)}…`).width > width) end--;
        return `${text.slice(0, end)}…`;
    }

    /**
     * A fill with the pattern of a state. @param {CanvasRenderingContext2D} context
     * @param {string} state
     */
    look(context, state) {
        const [fill, pattern] = STATE_LOOKS[/** @type {keyof typeof STATE_LOOKS} */ (state)];
        if (fill.startsWith('--')) return this.page.sheet.ink.bar;
        if (pattern === '') return fill;
        const tile = document.createElement('canvas');
        tile.width = tile.height = 6;
        const brush = /** @type {CanvasRenderingContext2D} */ (tile.getContext('2d'));
        brush.fillStyle = fill;
        brush.fillRect(0, 0, 6, 6);
        brush.strokeStyle = '#ffffff';
        brush.lineWidth = 1;
        brush.beginPath();
        if (pattern === 'dots') brush.rect(2, 2, 1, 1);
        if (pattern === 'falling' || pattern === 'cross') {
            brush.moveTo(-1, -1);
            brush.lineTo(7, 7);
        }
        if (pattern === 'rising' || pattern === 'cross') {
            brush.moveTo(-1, 7);
            brush.lineTo(7, -1);
        }
        brush.stroke();
        return context.createPattern(tile, 'repeat') ?? fill;
    }

    // ---- numbers ----

    /** @param {ArrayLike<number>} ticks */
    seconds(ticks) {
        return Array.from(ticks, (tick) => tick / this.page.rate);
    }

    /** Some of so many indices, evenly. @param {number} length */
    some(length) {
        const count = Math.min(length, TABLE_ROWS);
        return Array.from({length: count}, (_, i) => Math.floor(i * length / count));
    }
}
