// SPDX-License-Identifier: GPL-3.0-or-later
// page.mjs PROGRAM DIRECTORY - opens pages of `report` in a real browser and does what a reader
// does. What the page shows is compared with what truth.mjs works out from moves.csv. Runs and
// pages are made below DIRECTORY. Pictures of the pages are left there, to be looked at. A third
// word picks the tests whose names contain it.
import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {readFileSync, statSync} from 'node:fs';
import {createRequire} from 'node:module';
import {pathToFileURL} from 'node:url';

import {rowsOf, Truth} from './truth.mjs';

const {chromium} = createRequire(`${process.cwd()}/build/npm-check/`)('playwright-core');
const [program, directory, only = ''] = process.argv.slice(2);

/** Runs the program; its status does not matter. */
function loopwright(...words) {
    try {
        execFileSync(program, words, {stdio: 'pipe'});
        return 0;
    } catch (error) {
        return error.status;
    }
}

/** A run with its page. */
function made(name, ...words) {
    const place = `${directory}/${name}`;
    loopwright(...words, '--out', place, '--quiet');
    assert.equal(loopwright('report', place, '--quiet', '--prove', '0'), 0, `page of ${name}`);
    return place;
}

const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--force-color-profile=srgb']
});

/** An open page that fails the test with whatever it asks for or complains about. */
async function open(file, {width = 1600, height = 1000, hash = '', ...more} = {}) {
    const page = await browser.newPage({viewport: {width, height}, ...more});
    page.complaints = [];
    page.on('console', (message) => {
        if (['error', 'warning'].includes(message.type())) page.complaints.push(message.text());
    });
    page.on('pageerror', (error) => page.complaints.push(error.stack));
    page.on('request', (request) => {
        if (request.resourceType() !== 'document')
            page.complaints.push(`asks for ${request.url()}`);
    });
    await page.goto(pathToFileURL(file).href + hash);
    return page;
}

async function close(page) {
    assert.deepEqual(page.complaints, []);
    await page.close();
}

const tests = [];
const test = (name, body) => tests.push({name, body});

// ---- what is shown is what happened ----

const demo = made('demo', 'run', 'scenarios/demo.yaml', '--moves');
const jam = made('jam', 'run', 'scenarios/surplus-jam.yaml', '--moves');
const line = made('line', 'run', 'scenarios/packing-line.yaml', '--moves');

const SCENES = [
    {
        place: demo,
        rate: 100,
        belts: {'ring/lane': {cells: 132, rate: [6, 1], isLine: false}},
        last: 180000
    },
    {
        place: jam,
        rate: 100,
        belts: {'ring/lane': {cells: 68, rate: [48, 10], isLine: false}},
        last: 120000
    },
    {
        place: line,
        rate: 100,
        last: 120000,
        lengths: {clock: 2},
        belts: {
            'ring/lane': {cells: 54, rate: [32, 10], isLine: false},
            packing: {cells: 24, rate: [25, 10], isLine: true}
        }
    },
];
for (const {place, belts, rate, last, lengths = {}} of SCENES)
    test(`${place}: items, hands and levels at ten ticks and more`, async () => {
        const page = await open(`${place}/report.html`);
        assert.deepEqual(await page.evaluate(() => loopwright.ticks), [0, last]);
        assert.deepEqual(await page.evaluate(() => loopwright.stretches), [[0, last]]);
        const items = new Set(rowsOf(`${place}/moves.csv`).map((row) => row.item));
        const truth = new Truth(
            place, belts, Object.fromEntries([...items].map((item) => [item, lengths[item] ?? 1])),
            rate);
        const ticks = [
            0, 1, 777, 5003, 12345, 30000, 54321, 72050, 99999, 100000, 118231, last
        ].filter((tick) => tick <= last);
        for (const tick of ticks) {
            const {lanes, hands} = await page.evaluate((at) => loopwright.at(at), tick);
            assert.deepEqual({lanes, hands}, truth.at(tick), `tick ${tick}`);
        }
        await close(page);
    });

test('levels are those of levels.csv at each sample', async () => {
    const page = await open(`${demo}/report.html`), level = {};
    for (const {time_s: time, place, item, count} of rowsOf(`${demo}/levels.csv`)) {
        (level[place] ??= {})[item] = Number(count);
        if (!['0.0', '60.0', '725.0', '1500.0'].includes(time)) continue;
        const levels =
            await page.evaluate((tick) => loopwright.at(tick).levels, Number(time) * 100);
        assert.equal(levels[place][item] ?? 0, Number(count), `${place} ${item} at ${time}`);
    }
    await close(page);
});

test('states of arms and stations add up to their totals in the tables', async () => {
    const page = await open(`${jam}/report.html`);
    const spent = await page.evaluate(() => {
        const all = {};
        for (let tick = 0; tick < 6000; tick++) {
            const {arms, stations} = loopwright.at(tick);
            for (const [name, state] of [...Object.entries(arms), ...Object.entries(stations)]) {
                const key = `${name} ${state}`;
                all[key] = (all[key] ?? 0) + 1;
            }
        }
        return all;
    });
    for (const [file, who, states] of [
             ['arms', 'arm', ['reaching', 'carrying', 'placing', 'returning', 'stopped']],
             ['stations', 'station', ['working', 'starved', 'blocked', 'gated', 'stopped']]])
        for (const row of rowsOf(`${jam}/${file}.csv`).filter((one) => one.time_s === '60.0'))
            for (const state of states)
                assert.equal(
                    spent[`${row[who]} ${state}`] ?? 0, Math.round(Number(row[`${state}_s`]) * 100),
                    `${row[who]} ${state}`);
    await close(page);
});

test('a tick that was not recorded throws a RangeError', async () => {
    const page = await open(`${demo}/report.html`);
    for (const tick of [-1, 180001, 0.5, NaN]) {
        const names = await page.evaluate(
            (at) => ['at', 'show'].map((verb) => {
                try {
                    loopwright[verb](at);
                } catch (error) {
                    return error.constructor.name;
                }
                return '';
            }),
            tick);
        assert.deepEqual(names, ['RangeError', 'RangeError'], `tick ${tick}`);
    }
    await close(page);
});

// ---- what a reader does ----

const timeOf = (page) => page.inputValue('#time-text');

test('play, pause, step, back, bar, typed time', async () => {
    const page = await open(`${demo}/report.html`);
    await page.click('#next-tick');
    assert.equal(await timeOf(page), '0:00:00.01');
    await page.click('#back-tick');
    assert.equal(await timeOf(page), '0:00:00');
    await page.click('#next-move');
    const moves = rowsOf(`${demo}/moves.csv`), first = moves.find(({tick}) => Number(tick) > 0);
    assert.equal(await page.evaluate(() => page.tick), Number(first.tick));
    await page.fill('#time-text', '0:12:00');
    await page.press('#time-text', 'Enter');
    assert.equal(await page.evaluate(() => page.tick), 72000);
    await page.click('#back-move');
    const before = moves.filter(({tick}) => Number(tick) < 72000).pop();
    assert.equal(await page.evaluate(() => page.tick), Number(before.tick));
    await page.fill('#time-bar', '90000');
    assert.equal(await timeOf(page), '0:15:00');
    await page.selectOption('#speed', '100');
    await page.click('#play');
    await page.waitForFunction(() => page.tick > 92000);
    await page.click('#play');
    const paused = await page.evaluate(() => page.tick);
    await page.waitForTimeout(200);
    assert.equal(await page.evaluate(() => page.tick), paused);
    await page.click('#play-back');
    await page.waitForFunction((tick) => page.tick < tick - 1000, paused);
    await page.click('#play-back');
    await close(page);
});

test('keys alone', async () => {
    const page = await open(`${jam}/report.html`);
    const tick = () => page.evaluate(() => page.tick);
    await page.keyboard.press('j');
    assert.equal(await tick(), 63105, 'the jam of events.csv');
    await page.keyboard.press('.');
    assert.equal(await tick(), 63106);
    await page.keyboard.press(',');
    await page.keyboard.press('p');
    const events = rowsOf(`${jam}/events.csv`).map((row) => Math.round(Number(row.start_s) * 100));
    assert.equal(await tick(), Math.max(...events.filter((one) => one < 63105)));
    await page.keyboard.press('n');
    assert.equal(await tick(), 63105);
    await page.keyboard.press('End');
    assert.equal(await tick(), 120000);
    await page.keyboard.press('Home');
    assert.equal(await tick(), 0);
    await page.keyboard.press('ArrowRight');
    assert.ok(await tick() > 0);
    await page.keyboard.press('g');
    await page.keyboard.type('0:01:00');
    await page.keyboard.press('Enter');
    assert.equal(await tick(), 6000);
    await page.evaluate(() => document.activeElement.blur());
    await page.keyboard.press(' ');
    await page.waitForFunction(() => page.tick > 6000);
    await page.keyboard.press(' ');
    assert.equal(await page.evaluate(() => page.playing), 0);
    await page.keyboard.press('i');
    assert.match(await page.textContent('#inspector'), /The way of this /);
    await page.keyboard.press('f');
    assert.equal(await page.getAttribute('#follow', 'aria-pressed'), 'true');
    await page.keyboard.press('0');
    await page.keyboard.press('Escape');
    assert.equal(await page.textContent('#inspector'), '');
    await page.keyboard.press('+');
    assert.equal(await page.evaluate(() => page.sheet.isWhole), false);
    await page.keyboard.press('0');
    assert.equal(await page.evaluate(() => page.sheet.isWhole), true);
    await close(page);
});

test('jump to the jam and to its point of no return; the address keeps the moment', async () => {
    const page = await open(`${jam}/report.html`);
    await page.click('#to-jam');
    assert.equal(await timeOf(page), '0:10:31.05');
    assert.match(page.url(), /#t=0:10:31\.05$/);
    assert.match(await page.textContent('#now'), /jam ring\/lane/);
    await page.click('#to-turning');
    assert.equal(await timeOf(page), '0:02:38');
    await page.goBack();
    await page.waitForFunction(() => page.tick === 63105);
    await close(page);
    const other = await open(`${jam}/report.html`, {hash: '#t=0:10:31.05&sel=scrap'});
    assert.equal(await timeOf(other), '0:10:31.05');
    assert.match(await other.textContent('#inspector'), /scrap holds 40 of 40: 40 offcut/);
    await close(other);
});

/** Where a part stands in the window. */
const pointOf = (page, kind, name) => page.evaluate(([what, called]) => {
    const lists = {arm: page.plan.arms, chest: page.plan.chests, station: page.plan.stations};
    const target = {kind: what, index: lists[what].findIndex((one) => one.name === called)};
    const {x, y} = page.sheet.pointOf(target, page.moment),
              box = page.sheet.canvas.getBoundingClientRect();
    return {
        x: box.left + (x - page.sheet.left) * page.sheet.scale,
        y: box.top + (y - page.sheet.top) * page.sheet.scale
    };
}, [kind, name]);

test('point at an arm, a chest, a station, an item; filter; follow', async () => {
    const page = await open(`${jam}/report.html`, {hash: '#t=0:10:31.05'});
    await page.waitForTimeout(600);
    for (const [kind, name, words] of [
             [
                 'arm', 'frame-feeder',
                 /frame-feeder, placing for 1 min 20 s: holds 1 frame and waits for a free place/
             ],
             ['chest', 'scrap', /scrap holds 40 of 40/],
             ['station', 'bench', /bench, starved for .*lacks pane/]]) {
        const {x, y} = await pointOf(page, kind, name);
        await page.mouse.move(x, y);
        assert.match(await page.textContent('#tip'), words);
    }
    await page.keyboard.press('Home');
    await page.fill('#time-bar', '9000');
    const spot = await page.evaluate(() => {
        const {cell, item} = page.moment.itemsOn(0)[0],
                     {x, y} = page.sheet.layout.outlines[0].middle(cell, 0);
        const box = page.sheet.canvas.getBoundingClientRect();
        return {
            cell,
            name: page.plan.items[item].name,
            x: box.left + (x - page.sheet.left) * page.sheet.scale,
            y: box.top + (y - page.sheet.top) * page.sheet.scale
        };
    });
    await page.mouse.move(spot.x, spot.y);
    assert.match(
        await page.textContent('#tip'),
        new RegExp(`${spot.name} on ring/lane, its head at cell ${spot.cell}`));
    await page.mouse.click(spot.x, spot.y);
    const steps = await page.evaluate(() => page.journey.steps);
    const moves = rowsOf(`${jam}/moves.csv`);
    for (const {tick, words} of steps)
        assert.ok(
            moves.some(
                (move) => Number(move.tick) === tick && move.item === spot.name &&
                    words.startsWith(`${move.arm} `)),
            `${words} at ${tick} is a move`);
    assert.ok(steps.length >= 2, 'put on and taken off');
    assert.match(await page.textContent('#inspector'), new RegExp(`The way of this ${spot.name}`));
    await page.click('#follow');
    assert.equal(await page.getAttribute('#follow', 'aria-pressed'), 'true');
    const colours = () => page.evaluate(() => page.sheet.canvas.toDataURL());
    const all = await colours();
    await page.selectOption('#only', {label: 'frame'});
    assert.notEqual(await colours(), all);
    await page.selectOption('#pick', {label: 'tray-taker'});
    assert.match(await page.textContent('#inspector'), /tray-taker, /);
    await close(page);
});

test('an item is followed over a line, too', async () => {
    const page = await open(`${line}/report.html`, {hash: '#t=0:04:00'});
    const found = await page.evaluate(() => {
        const track = page.plan.tracks.indexOf('packing'), [first] = page.moment.itemsOn(track);
        page.choose({kind: 'item', track, cell: first.cell, item: first.item});
        const place = page.journey.placeAt(page.tick, page.moment);
        return {cell: first.cell, place, steps: page.journey.steps.map(({words}) => words)};
    });
    assert.equal(found.place.cell, found.cell);
    assert.match(found.steps[0], /takes it from bench/);
    assert.match(found.steps.at(-1), /puts it into crates/);
    await close(page);
});

test('events: sorted, filtered, clicked', async () => {
    const page = await open(`${demo}/report.html`), events = rowsOf(`${demo}/events.csv`);
    assert.equal(await page.locator('#event-table tbody tr').count(), events.length);
    await page.selectOption('#event-kind', 'starved');
    assert.equal(
        await page.locator('#event-table tbody tr').count(),
        events.filter(({event}) => event === 'starved').length);
    await page.selectOption('#event-kind', '');
    await page.fill('#event-words', 'spring');
    await page.click('#event-table tbody tr:last-child td:first-child button');
    const last = events.filter((row) => Object.values(row).join(' ').includes('spring')).pop();
    assert.equal(await page.evaluate(() => page.tick), Math.round(Number(last.start_s) * 100));
    await page.click('#event-table th:nth-child(4) button');
    const subjects = await page.locator('#event-table tbody td:nth-child(4)').allTextContents();
    assert.deepEqual(subjects, [...subjects].sort((a, b) => a.localeCompare(b)));
    await close(page);
});

test('charts: one zoom and one moment for all, a table behind each', async () => {
    const page = await open(`${demo}/report.html`);
    await page.locator('.chart .u-over').first().click({position: {x: 400, y: 60}});
    assert.ok(await page.evaluate(() => page.tick) > 10000);
    await page.click('#chart-closer');
    const shown = await page.evaluate(
        () => page.charts.plots.map((plot) => [plot.scales.x.min, plot.scales.x.max]));
    for (const range of shown) assert.deepEqual(range, shown[0]);
    assert.ok(shown[0][1] - shown[0][0] < 1800);
    await page.click('#chart-all');
    const figures = page.locator('.chart');
    for (let i = 0; i < await figures.count(); i++) {
        await figures.nth(i).locator('summary').click();
        await figures.nth(i).locator('tbody tr').first().waitFor();
    }
    await page.click('#here summary');
    await page.locator('#here-table table').first().waitFor();
    assert.match(await page.textContent('#here-table'), /movement-taker/);
    await close(page);
});

// ---- for all eyes ----

/** Texts whose contrast is below 4.5 to 1 (3 to 1 when large), by WCAG 2.2. */
const paleTexts = () => {
    const channel = (c) => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    const parse = (text) => text.match(/[\d.]+/g).map(Number);
    const luminance = ([r, g, b]) =>
        0.2126 * channel(r / 255) + 0.7152 * channel(g / 255) + 0.0722 * channel(b / 255);
    const behind = (element) => {
        for (let at = element; at !== null; at = at.parentElement) {
            const colour = parse(getComputedStyle(at).backgroundColor);
            if (colour.length === 3 || colour[3] === 1) return colour;
        }
        return [255, 255, 255];
    };
    const pale = [];
    for (const element of document.querySelectorAll('body *')) {
        const own = [...element.childNodes].some(
            (node) => node.nodeType === 3 && node.textContent.trim() !== '');
        if (!own || element.closest('script, style, svg, option') ||
            element.getClientRects().length === 0)
            continue;
        const style = getComputedStyle(element);
        const [a, b] = [luminance(parse(style.color)), luminance(behind(element))];
        const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
        const large = parseFloat(style.fontSize) >= 24;
        if (contrast < (large ? 3 : 4.5))
            pale.push(`${element.tagName} ${element.textContent.slice(0, 30)}: ${contrast}`);
    }
    return pale;
};

for (const colorScheme of ['light', 'dark'])
    for (const width of [320, 1600])
        test(
            `${colorScheme}, ${width} px: nothing wider than the window, no pale text`,
            async () => {
                const page =
                    await open(`${jam}/report.html`, {width, colorScheme, hash: '#t=0:10:31.05'});
                assert.ok(
                    await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
                assert.deepEqual(await page.evaluate(paleTexts), []);
                await page.screenshot(
                    {path: `${directory}/jam-${colorScheme}-${width}.png`, fullPage: true});
                await close(page);
            });

/** Of two colours #rrggbb, by WCAG 2.2. */
const contrastOf = (one, other) => {
    const [low, high] =
        [one, other]
            .map((colour) => [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16) / 255))
            .map(
                (parts) =>
                    parts.map((c) => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
            .map(([r, g, b]) => 0.2126 * r + 0.7152 * g + 0.0722 * b)
            .sort((a, b) => a - b);
    return (high + 0.05) / (low + 0.05);
};

for (const colorScheme of ['light', 'dark'])
    test(`${colorScheme}: lines of charts stand out, and no two items have the same`, async () => {
        const page = await open(`${jam}/report.html`, {colorScheme});
        const {lines, paper} = await page.evaluate(
            () => ({
                lines: Array.from(
                    {length: 16},
                    (_, item) => [page.charts.lineColour(item), dashOf(item).join(' ')]),
                paper: page.sheet.ink.paper
            }));
        for (const [colour] of lines)
            assert.ok(contrastOf(colour, paper) >= 3, `${colour} on ${paper}`);  // WCAG 2.2, 1.4.11
        assert.equal(new Set(lines.map(String)).size, lines.length);
        await close(page);
    });

test(
    'the name of an arm lies on no box and no other name where there is room beside it',
    async () => {
        const page = await open(`${jam}/report.html`, {width: 1400});
        const covered = await page.evaluate(() => {
            const {layout, plan, context} = page.sheet, found = [];
            const others = [];
            plan.arms.forEach(({name}, arm) => {
                const {from, y} = page.sheet.textPlace(arm, name);
                const end = from + context.measureText(name).width;
                for (const other of others)
                    if (from < other.end && end > other.from && Math.abs(y - other.y) < 10)
                        found.push(`${name} on ${other.name}`);
                others.push({name, from, end, y});
                for (const box of layout.boxes)
                    if (from < box.x + box.w / 2 && end > box.x - box.w / 2 &&
                        Math.abs(y - box.y) < box.h / 2 + 4)
                        found.push(`${name} on ${box.name}`);
            });
            return found;
        });
        assert.deepEqual(covered, []);
        /* of two arms that work between the same places */
        const [one, other] = await page.evaluate(() => {
            const {sheet} = page;
            sheet.links[1] = sheet.links[0];
            [sheet.sides, sheet.texts] = [[], []];
            return [0, 1].map((arm) => sheet.textPlace(arm, sheet.plan.arms[arm].name));
        });
        assert.notDeepEqual(one, other);
        assert.ok(Math.abs(one.y - other.y) > 10 || one.align !== other.align);
        await close(page);
    });

test('on paper: all of it, no controls', async () => {
    const page = await open(`${jam}/report.html`, {hash: '#t=0:10:31.05', colorScheme: 'dark'});
    const paper = () => page.evaluate(() => {
        const copy = document.createElement('canvas').getContext('2d');
        copy.drawImage(page.sheet.canvas, 0, 0);
        return copy.getImageData(3, 3, 1, 1).data.join();
    });
    assert.notEqual(await paper(), '255,255,255,255', 'dark on the screen');
    await page.emulateMedia({media: 'print'});
    await page.waitForTimeout(300);
    assert.equal(await paper(), '255,255,255,255', 'white on paper');
    assert.equal(await page.locator('#play').isVisible(), false);
    assert.equal(await page.locator('#sheet').isVisible(), true);
    await page.pdf({path: `${directory}/jam.pdf`});
    assert.ok(statSync(`${directory}/jam.pdf`).size > 20000);
    await close(page);
});

test('without JavaScript verdict and cause are there to read', async () => {
    const page = await open(`${jam}/report.html`, {javaScriptEnabled: false});
    assert.match(
        await page.textContent('#verdict'), /1 jam, the first on ring\/lane at 0:10:31\.05/);
    assert.match(await page.textContent('#cause'), /scrap has no room left/);
    assert.equal(await page.locator('#play').isVisible(), false);
    await close(page);
});

test('less motion is asked for: pictures change rarely', async () => {
    const page = await open(`${demo}/report.html`, {reducedMotion: 'reduce'});
    assert.equal(await page.evaluate(() => page.playing), 0);
    await page.click('#play');
    await page.waitForFunction(() => page.tick > 0);
    await close(page);
});

test('every part of a control has a name', async () => {
    const page = await open(`${demo}/report.html`);
    const nameless = await page.evaluate(
        () => [...document.querySelectorAll('button, input, select, canvas[role]')]
                  .filter(
                      (one) => !one.textContent.trim() && !one.getAttribute('aria-label') &&
                          !one.closest('label') && one.labels?.length !== 1)
                  .map((one) => one.outerHTML.slice(0, 80)));
    assert.deepEqual(nameless, []);
    await close(page);
});

// ---- drains, soaks, and what is no run ----

test('a drain that leaves a heap says what is left and why', async () => {
    const place = made('drain', 'drain', 'scenarios/heap-stays.yaml');
    const page = await open(`${place}/report.html`);
    assert.match(
        await page.textContent('#verdict'),
        /Not drained: the demands stopped at 0:10:00.*items are left/s);
    await page.screenshot({path: `${directory}/drain.png`, fullPage: true});
    await close(page);
});

test('a soak says how often it jams, and names the runs', async () => {
    const place = made('soak', 'soak', 'scenarios/surplus-jam.yaml', '--runs', '5', '--for', '1h');
    const page = await open(`${place}/report.html`);
    assert.match(await page.textContent('#verdict'), /5 of them jam/);
    assert.equal(await page.locator('h3:has-text("Runs that failed") + table tbody tr').count(), 5);
    await page.screenshot({path: `${directory}/soak.png`, fullPage: true});
    await close(page);
});

test('the best of a sweep in which every run gets stuck is not said to hold', async () => {
    const place = made(
        'sweep-stuck', 'sweep', 'scenarios/surplus-jam.yaml', '--runs', '2', '--for', '30min',
        '--over', 'loops.ring.cells=60,120');
    const page = await open(`${place}/report.html`);
    const verdict = page.locator('.verdict.fails');
    assert.match(await verdict.textContent(), /2 of 2 runs have a jam.*2 of 2 runs end stuck\./);
    await close(page);
});

test('a sweep over one path is drawn as lines, with a band for the interval', async () => {
    const place = made(
        'sweep-1', 'sweep', 'scenarios/surplus-jam.yaml', '--runs', '4', '--for', '30min', '--over',
        'loops.ring.cells=60,120,240');
    const page = await open(`${place}/report.html`);
    assert.match(await page.textContent('#verdict'), /The best: loops\.ring\.cells=/);
    assert.equal(await page.locator('.verdict.holds').count(), 1);
    const jams = page.locator('.line', {hasText: 'runs with a jam'});
    assert.equal(await jams.locator('.band').count(), 1);
    assert.equal(await jams.locator('.point').count(), 3);
    const lines = await page.locator('.line').count();
    assert.equal(await page.locator('.line .best.point').count(), lines);
    await page.screenshot({path: `${directory}/sweep-1.png`, fullPage: true});
    await close(page);
});

test('a sweep over two paths is a map with the numbers of sweep.csv', async () => {
    const place = made(
        'sweep-2', 'sweep', 'scenarios/surplus-jam.yaml', '--runs', '4', '--for', '30min', '--over',
        'loops.ring.cells=60,240', '--over', 'arms.frame-feeder.swing=1 s,2 s,4 s');
    const page = await open(`${place}/report.html`, {width: 320, height: 640});
    const [heads, ...rows] =
        readFileSync(`${place}/sweep.csv`, 'utf8').trim().split('\n').map((row) => row.split(','));
    const column = heads.indexOf('jam_probability');
    assert.deepEqual(
        (await page.locator('.map.bad').first().locator('tbody td').allTextContents()).map(Number),
        rows.map((row) => 100 * Number(row[column])));
    assert.equal(await page.locator('.map').first().locator('.best').count(), 1);
    assert.ok(await page.evaluate(
        () => document.documentElement.scrollWidth <= document.documentElement.clientWidth));
    await page.screenshot({path: `${directory}/sweep-2.png`, fullPage: true});
    await close(page);
});

test('a capacity and a threshold that incidents set change in chart and drawing', async () => {
    const place = made('settings', 'run', 'tests/page/settings.yaml');
    const page = await open(`${place}/report.html`);
    const said = await page.textContent('#charts');
    assert.match(said, /Room for 60, from 0:04:00 on 25, from 0:08:00 on no bound; gates open: /);
    assert.match(said, /feeder below 10, from 0:02:00 on 30/);
    const [levels, drawn] = await page.evaluate(
        () =>
            [page.charts.levelLines(),
             [1, 3, 5, 9].map(
                 (minute) =>
                     page.plan.chests.map(({capacities}) => valueAt(capacities, minute * 6000)))]);
    assert.deepEqual(
        levels.map(({from, to, value}) => [from / 6000, to / 6000, value]),
        [[0, 2, 10], [2, 10, 30], [0, 4, 60], [4, 8, 25]]);
    assert.deepEqual(drawn, [[null, 60], [null, 60], [null, 25], [null, null]]);
    await page.screenshot({path: `${directory}/settings.png`, fullPage: true});
    await close(page);
});

test('sizes: the demo below 2 MB; the same directory gives the same bytes', async () => {
    assert.ok(statSync(`${demo}/report.html`).size < 2e6);
    loopwright(
        'report', demo, '--quiet', '--prove', '0', '--force', '--out', `${directory}/again.html`);
    execFileSync('cmp', [`${demo}/report.html`, `${directory}/again.html`]);
});

test(
    'a long run: below 8 MB, what lies in a gap is shown as a sample and not made up', async () => {
        const place = made('long', 'run', 'scenarios/bulk-and-mix.yaml', '--for', '48h');
        assert.ok(statSync(`${place}/report.html`).size < 8e6);
        const page = await open(`${place}/report.html`);
        const stretches = await page.evaluate(() => loopwright.stretches);
        assert.ok(stretches.length > 1, 'start and end at least');
        assert.equal(stretches[0][0], 0);
        assert.equal(stretches.at(-1)[1], 48 * 3600 * 100);
        const gap = stretches[0][1] + 1000;
        assert.equal(await page.evaluate((tick) => {
            try {
                loopwright.at(tick);
            } catch (error) {
                return error instanceof RangeError;
            }
            return false;
        }, gap), true);
        await page.fill('#time-bar', String(gap));
        await page.waitForTimeout(400);
        assert.match(await page.textContent('#now'), /not recorded in full here: the sheet shows/);
        assert.match(await page.textContent('#recorded'), /^Recorded move by move: 0:00:00 to /);
        await close(page);
    });

test('half a directory: status 4, nothing written', () => {
    execFileSync('sh', [
        '-c', `rm -rf "$1" && mkdir "$1" && cp "$2"/summary.json "$2"/scenario.yaml "$1" &&
        head -c 200 "$2"/events.csv >"$1"/events.csv`,
        'sh', `${directory}/half`, demo
    ]);
    assert.equal(loopwright('report', `${directory}/half`), 4);
    assert.throws(() => statSync(`${directory}/half/report.html`));
});

let failed = 0;
for (const {name, body} of tests.filter((one) => one.name.includes(only))) try {
        await body();
        console.log(`holds: ${name}`);
    } catch (error) {
        failed++;
        console.log(`FAILS: ${name}\n${error.stack}`);
    }
await browser.close();
console.log(
    `${tests.filter((one) => one.name.includes(only)).length - failed} passed, ${failed} failed`);
process.exitCode = failed === 0 ? 0 : 1;
