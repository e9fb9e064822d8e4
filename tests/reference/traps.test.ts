/**
 * Reference check: thirty mistakes that the trade's arithmetic invites, one test each. The source of every value stands
 * beside it; "arithmetic" is a calculation of our own, and what nobody publishes is marked common practice, no source.
 */
import { expect, test } from 'vitest';
import { checkTable } from '../../shared/alarm/check-table.ts';
import { isBack, meets, pointsOf } from '../../shared/alarm/compile.ts';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { headroom } from '../../shared/alarm/headroom.ts';
import type { SetPoint } from '../../shared/alarm/set-point.ts';
import { doseOf } from '../../shared/exposure/dose.ts';
import { HOUR_MS, MINUTE_MS, SHIFT_MS } from '../../shared/exposure/exact-sum.ts';
import { shareOfLimit } from '../../shared/exposure/limits.ts';
import { mixture } from '../../shared/exposure/mixture.ts';
import { type ChannelExposure, type Figure, personExposure } from '../../shared/exposure/person.ts';
import { addSample, createSeries, type Series } from '../../shared/exposure/series.ts';
import { stayTime } from '../../shared/exposure/stay-time.ts';
import type { Wearing } from '../../shared/exposure/wearing.ts';
import { alongWind } from '../../shared/map/dispersion.ts';
import { fromUsng, toUsng } from '../../shared/map/usng.ts';
import { meanWind, turnedBy, windTo } from '../../shared/map/wind.ts';
import { airLitres, airTimes, leaveIn, teamAir, turnPressure } from '../../shared/people/air.ts';
import { readPacket } from '../../shared/protocol/read-packet.ts';
import { type Air, convertAmount } from '../../shared/quantity/amount.ts';
import { toCanonical } from '../../shared/quantity/canonical.ts';
import { amountAtLel, percentLel } from '../../shared/quantity/combustible.ts';
import { displacedAmount } from '../../shared/quantity/displacement.ts';
import { valueWords } from '../../shared/quantity/display.ts';
import { fieldEquivalent } from '../../shared/quantity/dose.ts';
import { lineLag, shareShown } from '../../shared/quantity/first-order.ts';
import { pidAmount } from '../../shared/quantity/pid.ts';
import { mixtureFactor, mixtureSetPoint } from '../../shared/quantity/pid-mixture.ts';
import { stayTime as stayTimeInUnits, wayOutDose } from '../../shared/quantity/stay-time.ts';
import { findSubstance, SUBSTANCES } from '../../shared/quantity/substances.ts';
import { codeOf, numberOf } from '../support/answers.ts';
import { alarmEvents, co, createRun, isoAt, lel, o2, told } from '../unit/fold-run.ts';

const START = Date.UTC(2026, 4, 14, 8);
const HOLD = 10_000;
const WORN: Wearing = [{ monitor: 'M-1', fromMs: START, toMs: null }];

/** One reading every 5 s over [fromMs, toMs) from the start of the shift. */
function expose(series: Series, fromMs: number, toMs: number, value: number, everyMs = 5000, channel = 'co') {
  const unit = channel === 'o2' ? '%vol' : channel === 'gamma' ? 'uR/h' : 'ppm';
  for (let at = fromMs; at < toMs; at += everyMs) addSample(series, START + at, [{ channel, value, unit }], HOLD);
}
/** What a person has of one channel at `atMs` into the shift. */
function exposureAt(monitors: Record<string, Series>, atMs: number, channel = 'co', worn = WORN): ChannelExposure {
  const person = personExposure((id) => monitors[id], worn, START + atMs, { shiftFromMs: START });
  const found = person.channels.find((one) => one.channel === channel);
  if (found === undefined) throw new Error(`no ${channel}`);
  return found;
}
function figureOf(exposure: ChannelExposure): Figure {
  const [figure] = exposure.figures;
  if (figure === undefined) throw new Error('no figure');
  return figure;
}
function pointOf(id: string): SetPoint {
  const point = DEFAULT_TABLE.setPoints.find((one) => one.id === id);
  if (point === undefined) throw new Error(`no ${id}`);
  return point;
}
function warningsOf(readings: Record<string, unknown>): string[] {
  const result = readPacket({ monitor: 'M-1', boot: 'b', seq: 1, readings }, START);
  return result.ok ? result.warnings.map((warning) => warning.code) : ['refused'];
}
const SEA_LEVEL: Air = { temperatureC: 25, pressureKPa: 101.325, basis: 'exact' };

// Definition of parts by volume.
test('trap 1: 350 ppb are 0.35 ppm, and a number without a unit is none', () => {
  expect(toCanonical('voc', 350, 'ppb')).toEqual({ value: 0.35, unit: 'ppm' });
  expect(numberOf(convertAmount({ value: 100, from: 'ppb', to: 'ppm', molarMass: null, air: null }))).toBe(0.1);
  expect(warningsOf({ voc: { value: 350 } })).toEqual(['unit-missing']);
});

// NFPA 497:2008 (5.0 %vol) and IEC 60079-20-1:2010 (4.4 %vol) as data tables of an open-source package carry them.
test('trap 2: 5 %vol of methane are 100 %LEL, on the basis of 4.4 %vol 13.6 % more, and "%" is no unit', () => {
  expect(numberOf(percentLel({ value: 5, unit: '%vol', lelVolPercent: 5 }))).toBe(100);
  const [us, iec] = [5, 4.4].map((lelVolPercent) => numberOf(percentLel({ value: 2.5, unit: '%vol', lelVolPercent })));
  expect(us).toBe(50);
  expect(iec).toBeCloseTo(56.82, 2);
  expect((iec ?? 0) / (us ?? 0)).toBeCloseTo(1.136, 3);
  expect(toCanonical('lel', 5, '%vol')).toBeNull();
  expect(warningsOf({ lel: { value: 5, unit: '%' } })).toEqual(['unit-unknown']);
});

// REMM, zones in a radiological incident: 10 mR/h = 0.1 mSv/h; the rest are powers of ten.
test('trap 3: 10 mR/h are 10,000 µR/h and 100 µSv/h, and a dose is no dose rate', () => {
  expect(numberOf(fieldEquivalent({ value: 10, from: 'mR/h', to: 'uR/h' }))).toBe(10_000);
  expect(numberOf(fieldEquivalent({ value: 10, from: 'mR/h', to: 'uSv/h' }))).toBe(100);
  expect(toCanonical('gamma', 10, 'mR/h')).toEqual({ value: 10_000, unit: 'uR/h' });
  expect(toCanonical('gamma', 100, 'uSv/h')).toEqual({ value: 10_000, unit: 'uR/h' });
  expect(codeOf(fieldEquivalent({ value: 10, from: 'R/h', to: 'R' }))).toBe('different-quantity');
});

// 29 CFR 1910.1000(d)(1): the sum over 8 h; 3 × 100 / 8 by arithmetic.
test('trap 4: 3 h at 100 ppm are 37.5 over a shift, over two monitors', () => {
  const [first, second] = [createSeries(), createSeries()];
  expose(first, 0, HOUR_MS, 100);
  expose(second, HOUR_MS, 3 * HOUR_MS, 100);
  const worn: Wearing = [
    { monitor: 'M-1', fromMs: START, toMs: START + HOUR_MS },
    { monitor: 'M-2', fromMs: START + HOUR_MS, toMs: null },
  ];
  const exposure = exposureAt({ 'M-1': first, 'M-2': second }, 3 * HOUR_MS, 'co', worn);
  expect(figureOf(exposure).twa?.value).toBe(37.5);
});

// Arithmetic: one minute each at 0 and at 100 is 100 ppm·min, however often it was reported.
test('trap 5: reporting forty times as fast during an alarm weighs no more', () => {
  const series = createSeries();
  expose(series, 0, MINUTE_MS, 0, 10_000);
  expose(series, MINUTE_MS, 2 * MINUTE_MS, 100, 250);
  const figure = figureOf(exposureAt({ 'M-1': series }, 2 * MINUTE_MS));
  expect(figure.twa?.value).toBe(100 / 480);
  expect(figure.samples).toBe(246);
});

// Arithmetic: 40 ppm over the 6.2 h that were covered, of 8.
test('trap 6: 6.2 of 8 h are covered, the rest is a gap and not 0', () => {
  const series = createSeries();
  const covered = 6.2 * HOUR_MS;
  expose(series, 0, 3 * HOUR_MS, 40);
  expose(series, 4.8 * HOUR_MS, SHIFT_MS, 40);
  // The reading before the gap stands for its hold of 10 s, 5 s more than to the next one that did not come.
  const exposure = exposureAt({ 'M-1': series }, SHIFT_MS);
  expect(exposure.coverage).toMatchObject({ spanMs: SHIFT_MS, coveredMs: covered + 5000, gapCount: 1 });
  expect(exposure.coverage.gapMs).toBe(1.8 * HOUR_MS - 5000);
  expect(exposure.lowerBound).toBe(true);
  expect(figureOf(exposure)).toMatchObject({ minimum: 40, twa: { partial: true } });
});

// 29 CFR 1910.1000(a) and NIOSH: a 15-minute average; 3 × 60 / 15 by arithmetic.
test('trap 7: 3 min at 60 ppm since power-on are 12 ppm, partial, not 60', () => {
  const series = createSeries();
  expose(series, 0, 3 * MINUTE_MS, 60);
  const { stel } = figureOf(exposureAt({ 'M-1': series }, 3 * MINUTE_MS));
  expect(stel).toMatchObject({ value: 12, partial: true, coveredMs: 3 * MINUTE_MS });
});

// 29 CFR 1910.1000(a)(1): at no time above; the average is for where instant monitoring is not feasible. NIOSH: C 200.
test('trap 8: a ceiling is met by one reading, whatever the 15-minute average is', () => {
  const run = createRun();
  run.every(1, 60, { readings: co(0) });
  run.read(61, co(200));
  expect(told(alarmEvents(run.events))).toContain('61 raised co-200');
  const series = createSeries();
  expose(series, 0, 14 * MINUTE_MS, 0);
  expose(series, 14 * MINUTE_MS, 15 * MINUTE_MS, 200);
  expect(figureOf(exposureAt({ 'M-1': series }, 15 * MINUTE_MS)).stel?.value).toBeCloseTo(200 / 15, 9);
});

// Definition of the correction factor; arithmetic.
test('trap 9: a factor that the instrument has applied is not applied again', () => {
  const shown = numberOf(pidAmount({ reading: 100, factor: 0.5, appliedBy: 'nobody' }));
  expect(shown).toBe(50);
  expect(numberOf(pidAmount({ reading: shown, factor: 0.5, appliedBy: 'instrument' }))).toBe(50);
});

// Definition of the correction factor; arithmetic.
test('trap 10: amount is reading × factor: 50 and not 200, 1,000 and not 10', () => {
  expect(numberOf(pidAmount({ reading: 100, factor: 0.5, appliedBy: 'nobody' }))).toBe(50);
  expect(numberOf(pidAmount({ reading: 100, factor: 10, appliedBy: 'nobody' }))).toBe(1000);
});

// Arithmetic from adding responses; the limit by the form of 29 CFR 1910.1000(d)(2).
test('trap 11: the factor of 5 % at 0.5 and 95 % at 4.0 is 2.963, not the average of 3.825', () => {
  const parts = [
    { fraction: 0.05, factor: 0.5, limit: 1 },
    { fraction: 0.95, factor: 4, limit: 50 },
  ];
  expect(numberOf(mixtureFactor(parts))).toBeCloseTo(2.962963, 6);
  expect(numberOf(mixtureSetPoint(parts))).toBeCloseTo(4.891304, 6);
});

// Arithmetic; that a negative value shows a dirty zero: common practice, no source.
test('trap 12: a negative reading is shown as it is, doubted, and takes nothing off an exposure', () => {
  const run = createRun();
  run.read(1, { ...o2(20.9), ...lel(-4) });
  expect(run.cell('lel')).toMatchObject({ value: -4, standing: 'doubtful', reasons: [{ code: 'negative' }] });
  const series = createSeries();
  expose(series, 0, MINUTE_MS, -60);
  expose(series, MINUTE_MS, 2 * MINUTE_MS, 60);
  const figure = figureOf(exposureAt({ 'M-1': series }, 2 * MINUTE_MS));
  expect(figure.twa?.value).toBe(60 / 480);
  expect(figure.minimum).toBe(-60);
});

// Arithmetic; over-range as a status and no number: IEC 60079-29-1, from memory.
test('trap 13: full scale with the over-range flag is an alarm and in no average', () => {
  const run = createRun();
  run.packet(1, { readings: { co: { value: 9999, unit: 'ppm', flag: 'over-range' } } });
  expect(run.cell('co')).toMatchObject({ value: null, flag: 'over-range', headroom: null, level: 'danger' });
  expect(run.need('over-range')).toMatchObject({ priority: 'danger', latched: true });
  const series = createSeries();
  expose(series, 0, MINUTE_MS, 40);
  addSample(series, START + MINUTE_MS, [{ channel: 'co', value: null, overRange: true, unit: 'ppm' }], HOLD);
  const exposure = exposureAt({ 'M-1': series }, MINUTE_MS + HOLD);
  expect(figureOf(exposure)).toMatchObject({ peak: 40, samples: 12 });
  expect(exposure).toMatchObject({ lowerBound: true, coverage: { overRangeMs: HOLD } });
});

// Four-agency manual of 1985: combustible readings not valid below 19.5 %; the floor of 12 % from memory.
test('trap 14: 0 %LEL in thin oxygen is not clean', () => {
  const standing = (oxygen: Record<string, unknown>) => {
    const run = createRun();
    run.read(1, { ...oxygen, ...lel(0) });
    return run.cell('lel');
  };
  expect(standing(o2(20.9))).toMatchObject({ standing: 'good' });
  expect(standing(o2(18))).toMatchObject({ standing: 'doubtful', reasons: [{ code: 'oxygen-thin' }] });
  expect(standing(o2(11))).toMatchObject({ standing: 'unusable', reasons: [{ code: 'oxygen-too-thin' }] });
  expect(standing({})).toMatchObject({ standing: 'doubtful', reasons: [{ code: 'oxygen-unknown' }] });
  expect(standing(o2(18)).reasons[0]?.words).toMatch(/^0 %LEL or more/);
});

// 29 CFR 1910.146(b): below 19.5 or above 23.5 %; the deadband of 0.2 is ours, common practice, no source.
test('trap 15: oxygen alarms on both sides, returns upwards, and its peak is the lowest', () => {
  expect(meets(pointOf('o2-low'), 19.4)).toBe(true);
  expect(meets(pointOf('o2-high'), 23.6)).toBe(true);
  expect([19.6, 19.8].map((value) => isBack(pointOf('o2-low'), value))).toEqual([false, true]);
  expect([23.4, 23.2].map((value) => isBack(pointOf('o2-high'), value))).toEqual([false, true]);
  const series = createSeries();
  expose(series, 0, MINUTE_MS, 20.9, 5000, 'o2');
  expose(series, MINUTE_MS, MINUTE_MS + 5000, 17, 5000, 'o2');
  expose(series, MINUTE_MS + 5000, 2 * MINUTE_MS, 20.9, 5000, 'o2');
  expect(figureOf(exposureAt({ 'M-1': series }, 2 * MINUTE_MS, 'o2'))).toMatchObject({
    worst: 17,
    twa: null,
    stel: null,
  });
});

// 29 CFR 1910.146(b): 19.5 and 23.5 themselves are inside. That 10 %LEL alarms itself: common practice, no source.
test('trap 16: exactly at the level each set-point does as its sign says, and 0.1 + 0.2 is 0.3', () => {
  expect([19.5, 19.4].map((value) => meets(pointOf('o2-low'), value))).toEqual([false, true]);
  expect([23.5, 23.6].map((value) => meets(pointOf('o2-high'), value))).toEqual([false, true]);
  expect([9.9, 10].map((value) => meets(pointOf('lel-10'), value))).toEqual([false, true]);
  const third = { ...pointOf('voc-1'), value: 0.3 };
  expect(meets({ ...third, direction: '>' }, 0.1 + 0.2)).toBe(false);
  expect(meets({ ...third, direction: '>=' }, 0.1 * 3)).toBe(true);
  expect(meets({ ...third, direction: '>=' }, 0.3 - 1e-16)).toBe(true);
});

// Arithmetic: mixed displacement at constant pressure from 20.9 %.
test('trap 17: 0.1 % of oxygen is 4,785 ppm, and 19.5 % can hide 67,000', () => {
  expect(numberOf(displacedAmount({ oxygen: 20.8, baseline: 20.9 }))).toBeCloseTo(4784.7, 0);
  expect(numberOf(displacedAmount({ oxygen: 19.5, baseline: 20.9 }))).toBeCloseTo(66_986, 0);
});

// NIOSH: IDLH 1200 ppm (Pocket Guide, from memory) and 100 ppm (PMC5777517, Table 3); 10 %LEL in ppm as NIOSH prints it.
test('trap 18: the bar ends at the level of withdrawal, not at the IDLH, and no public limit is on it', () => {
  for (const [channel, idlh] of [
    ['co', 1200],
    ['h2s', 100],
  ] as const) {
    const points = pointsOf(DEFAULT_TABLE, channel);
    const withdraw = points.find((point) => point.withdraw)?.value ?? Number.NaN;
    expect(points.find((point) => point.id === `${channel}-idlh`)).toMatchObject({ value: idlh, withdraw: false });
    expect(withdraw).toBeLessThan(idlh);
    expect(headroom(points, withdraw, 0)?.left).toBe(0);
  }
  for (const { source } of DEFAULT_TABLE.setPoints) expect(source).not.toMatch(/AEGL|ERPG/);
  for (const { rel, pel, idlh } of SUBSTANCES) {
    expect([...rel, ...pel].some(({ kind }) => kind === 'IDLH')).toBe(false);
    expect(idlh.every(({ kind }) => kind === 'IDLH')).toBe(true);
  }
  expect(numberOf(amountAtLel({ percent: 10, to: 'ppm', lelVolPercent: 12.5 }))).toBe(12_500);
});

// OSHA chemical data 462 and 29 CFR 1910.1000 Z-2; NIOSH profile of 2017 (EPA HERO 4795768); HCl 45: a mirror of a news item.
test('trap 19: the limits in force, not the vacated ones of 1989, and every IDLH with its year', () => {
  const pel = (name: string) => findSubstance(name)?.pel.map(({ kind, value }) => `${kind} ${value}`);
  expect(pel('carbon monoxide')).toEqual(['TWA 50']);
  expect(pel('hydrogen sulfide')).toEqual(['C 20', 'peak 50']);
  expect(pel('toluene')).toEqual(['TWA 200', 'C 300', 'peak 500']);
  const idlh = (name: string) => findSubstance(name)?.idlh.map(({ value, note }) => `${value} ${note}`);
  expect(idlh('nitrogen dioxide')).toEqual(['13 2017', '20 1994']);
  expect(idlh('hydrogen chloride')).toEqual(['45 2025', '50 1994']);
  // Ethyl benzene: its IDLH of 800 ppm is 10 % of an LEL of 0.8 %vol (NIOSH IDLH document).
  expect(numberOf(amountAtLel({ percent: 10, to: 'ppm', lelVolPercent: 0.8 }))).toBe(800);
});

// Arithmetic: first-order response and the volume of a tube.
test('trap 20: 10 s of a gas show 32 % at a T90 of 60 s, after 47.5 s in 30 m of line', () => {
  expect(numberOf(shareShown({ t90S: 60, elapsedS: 10 }))).toBeCloseTo(31.87, 2);
  expect(numberOf(shareShown({ t90S: 30, elapsedS: 10 }))).toBeCloseTo(53.58, 2);
  expect(numberOf(lineLag({ diameterMm: 3.175, lengthM: 30, flowMlPerMin: 300 }))).toBeCloseTo(47.5, 1);
});

// Arithmetic of directions; 350° and 10° are north together.
test('trap 21: wind from the west goes east, and 350° and 10° make north', () => {
  expect(windTo(270)).toBe(90);
  expect(alongWind(100, 0, 270).downwindM).toBeCloseTo(100, 9);
  const mean = meanWind([
    { fromDegrees: 350, speedMs: 3 },
    { fromDegrees: 10, speedMs: 3 },
  ]);
  const fromDegrees = mean.fromDegrees ?? Number.NaN;
  expect(Math.abs(turnedBy(0, fromDegrees))).toBeLessThan(1e-9);
  expect(turnedBy(350, 10)).toBe(20);
});

// FGDC-STD-011-2001, 5.2.2 and Table 1: Washington Monument; its latitude and longitude from PROJ.
test('trap 22: latitude first, and a grid reference is cut off, never rounded', () => {
  const [lat, lon] = [38.889467309501576, -77.0352402156242];
  expect(toUsng(lat, lon)).toBe('18SUJ2348306479');
  // Rounded it would end in 0648, ten metres north.
  expect(toUsng(lat, lon, 4)).toBe('18SUJ23480647');
  expect(toUsng(lon, lat)).not.toBe('18SUJ2348306479');
  const square = fromUsng('18SUJ23480647');
  expect(square).toMatchObject({ ok: true, sizeM: 10, southWest: { easting: 323_480, northing: 4_306_470 } });
  // The marker stands in the middle of the square.
  expect(square.ok && toUsng(square.lat, square.lon)).toBe('18SUJ2348506475');
  const swapped = readPacket({ monitor: 'M-1', boot: 'b', seq: 1, position: { lat: -98.2, lon: 44.05 } }, START);
  expect(swapped.ok && [swapped.packet.position, swapped.warnings[0]?.code]).toEqual([undefined, 'field-invalid']);
});

// Arithmetic; which clock counts for what: common practice, no source.
test('trap 23: a wrong relay clock cancels out, and late news corrects sums and ends no alarm', () => {
  const run = createRun();
  run.packet(100, { measuredAt: isoAt(95 - 3600), sentAt: isoAt(100 - 3600), readings: lel(30) });
  expect(run.cell('lel').measuredAt).toBe(isoAt(95));
  run.packet(101, { measuredAt: isoAt(50 - 3600), sentAt: isoAt(101 - 3600), readings: lel(0) });
  run.advance(104);
  expect(run.cell('lel').value).toBe(30);
  expect(run.need('lel-25')).toMatchObject({ condition: true, late: false });
  const [inOrder, late] = [createSeries(), createSeries()];
  for (const at of [0, 5000, 10_000]) {
    addSample(inOrder, START + at, [{ channel: 'co', value: 40 + at, unit: 'ppm' }], HOLD);
  }
  for (const at of [10_000, 0, 5000]) {
    addSample(late, START + at, [{ channel: 'co', value: 40 + at, unit: 'ppm' }], HOLD);
  }
  expect(exposureAt({ 'M-1': late }, 15_000)).toEqual(exposureAt({ 'M-1': inOrder }, 15_000));
});

// Times of this post; common practice, no source.
test('trap 24: what is not heard any more is unusable after 10 s, and an alarm of a wearer', () => {
  const run = createRun();
  run.read(1, co(0));
  run.assign(2, 'E1-A');
  expect(run.cell('co').standing).toBe('good');
  run.advance(12);
  expect(run.cell('co')).toMatchObject({ standing: 'unusable', reasons: [{ code: 'stale' }], trend: null });
  run.advance(60);
  expect(run.stateOf('silent')).toBe('unacknowledged');
});

// IEC 62682 / ISA-18.2 as publicly restated (OPC UA part 9, 4.8).
test('trap 25: an answer ends no condition, movement resets no call, and the end of a shelf sounds', () => {
  const run = createRun();
  run.every(1, 3, { readings: co(40) });
  run.acknowledge(4, run.need('co-35'));
  expect(run.need('co-35')).toMatchObject({ condition: true });
  expect(run.stateOf('co-35')).toBe('acknowledged');
  run.command(5, { type: 'shelve', alarm: run.need('co-35').id, minutes: 1, reason: 'known source' });
  run.every(6, 65, { readings: co(40) });
  expect(run.stateOf('co-35')).toBe('unacknowledged');
  run.status(66, { motion: 'down' });
  run.acknowledge(67, run.need('down'));
  run.status(68, { motion: 'moving' });
  expect(run.stateOf('down')).toBe('latched-acknowledged');
});

// Arithmetic; limit 5 rem: EPA 400-R-92-001, table 2-2, in a copy.
test('trap 26: stay time with the way out off it, background counted, and never negative', () => {
  const stay = { limit: 5000, accumulated: 1200, rate: 900, background: 0.007, exitMinutes: 6, exitRate: 450 };
  expect(stayTime(stay)).toMatchObject({ minutes: expect.closeTo(250.3, 1) });
  expect(stayTime({ ...stay, exitMinutes: 0 })).toMatchObject({ minutes: expect.closeTo(253.3, 1) });
  expect(stayTime({ ...stay, accumulated: 5200 })).toEqual({ state: 'over', minutes: 0, why: 'limit' });
  expect(stayTime({ ...stay, accumulated: 4970 })).toEqual({ state: 'over', minutes: 0, why: 'way-out' });
  expect(stayTime({ ...stay, rate: 0.007 })).toEqual({ state: 'not-limiting' });
  const exitDose = wayOutDose({ meanRate: { value: 450, unit: 'mR/h' }, minutes: 6 });
  if ('ok' in exitDose) throw new Error(exitDose.message);
  const inUnits = stayTimeInUnits({
    limit: { value: 5, unit: 'rem' },
    accumulated: { value: 1.2, unit: 'R' },
    rate: { value: 900, unit: 'mR/h' },
    exitDose,
    background: { value: 7, unit: 'uR/h' },
  });
  expect(numberOf(inUnits)).toBeCloseTo(250.3, 1);
  const series = createSeries();
  expose(series, 0, HOUR_MS + 5000, 7, 5000, 'gamma');
  const dose = doseOf(exposureAt({ 'M-1': series }, HOUR_MS, 'gamma'), 7);
  expect(dose?.totalUR).toBeCloseTo(7, 9);
  expect(dose?.backgroundUR).toBeCloseTo(7, 9);
});

// NFPA community answers: 1200 L at 40 L/min for 30 min; alarm at 33 %: NFPA 1981 in a copy. Turn pressure: arithmetic.
test('trap 27: air counts in litres, with decontamination, and by the lowest member', () => {
  const toAlarm = (full: number, fill: number, rate: number) =>
    airTimes({ fullLitres: full, litres: full * fill, litresPerMinute: rate, alarmFraction: 0.33 });
  expect(toAlarm(1200, 1, 40)).toMatchObject({ toAlarm: expect.closeTo(20.1, 9), toEmpty: 30 });
  expect(toAlarm(1800, 0.9, 40)).toMatchObject({ toAlarm: expect.closeTo(25.65, 9) });
  expect(toAlarm(1800, 0.9, 80)).toMatchObject({ toAlarm: expect.closeTo(12.825, 9) });
  expect(toAlarm(2400, 0.9, 100)).toMatchObject({ toAlarm: expect.closeTo(13.68, 9) });
  const gauge = { pressure: 2250, unit: 'psi' } as const;
  const half = (ratedLitres: number, fullPsi: number) => airLitres({ regime: 'psi', ratedLitres, fullPsi }, gauge);
  expect([half(1200, 2250), half(1800, 4500), half(2400, 4500)]).toEqual([
    { ok: true, litres: 1200 },
    { ok: true, litres: 900 },
    { ok: true, litres: 1200 },
  ]);
  expect(airLitres({ regime: 'bar', waterLitres: 6, fullBar: 300 }, gauge)).toMatchObject({ problem: 'units-differ' });
  expect(
    turnPressure({ pressure: 4500, unit: 'psi' }, { pressure: 3800, unit: 'psi' }, { pressure: 1500, unit: 'psi' }),
  ).toEqual({ ok: true, pressure: 2200, unit: 'psi' });
  const wearer = {
    name: 'E1-A',
    fullLitres: 1800,
    litres: 1620,
    litresPerMinute: 40,
    alarmFraction: 0.33,
    wayOutMinutes: 5,
    decontaminationMinutes: 10,
  };
  expect(leaveIn(wearer)).toMatchObject({ minutes: expect.closeTo(10.65, 9) });
  const low = { ...wearer, name: 'E1-B', litres: 1300 };
  expect(teamAir([wearer, low])).toEqual({ minutes: expect.closeTo(2.65, 9), governs: 'E1-B', unknown: [] });
});

// Arithmetic: R·T/P with the molar gas constant, 35 ppm of a gas of 28.01 g/mol.
test('trap 28: 35 ppm of carbon monoxide in mg/m³ depend on cold and height, and need both told', () => {
  const mass = (air: Air | null) => convertAmount({ value: 35, from: 'ppm', to: 'mg/m3', molarMass: 28.01, air });
  expect(numberOf(mass(SEA_LEVEL))).toBeCloseTo(40.07, 2);
  expect(numberOf(mass({ ...SEA_LEVEL, temperatureC: -10 }))).toBeCloseTo(45.4, 2);
  expect(numberOf(mass({ ...SEA_LEVEL, pressureKPa: 83.4 }))).toBeCloseTo(32.98, 2);
  expect(codeOf(mass(null))).toBe('missing');
  expect(toCanonical('co', 40, 'mg/m3')).toBeNull();
});

// 29 CFR 1910.146(b): below 19.5 %.
test('trap 29: 19.46 % of oxygen is an alarm and is not written as 19.5', () => {
  const run = createRun();
  run.read(1, o2(19.46));
  expect(run.need('o2-low')).toMatchObject({ condition: true, value: 19.46 });
  expect(valueWords('o2', 19.46, '%vol')).toBe('19.46 %vol');
  expect(run.need('o2-low').words).toContain('19.46');
});

// 29 CFR 1910.1000(d)(2): shares of limits of single substances; that detectors must not be added: arithmetic.
test('trap 30: %LEL are not summed, and a photo-ionisation reading is in no sum of another channel', () => {
  const ppm = (channel: string, value: number) => ({ channel, value, unit: 'ppm', source: 'x' });
  const sum = mixture(
    [
      { channel: 'b', value: 500, unit: 'ppm' },
      { channel: 'c', value: 45, unit: 'ppm' },
      { channel: 'd', value: 40, unit: 'ppm' },
      { channel: 'lel', value: 20, unit: '%LEL' },
      { channel: 'voc', value: 3, unit: 'ppm' },
    ],
    [ppm('b', 1000), ppm('c', 200), ppm('d', 200), ppm('lel', 100)],
  );
  expect(sum.em).toBeCloseTo(0.925, 9);
  expect(sum.leftOut.map(({ channel, problem }) => [channel, problem])).toEqual([
    ['lel', 'units-differ'],
    ['voc', 'no-limit'],
  ]);
  expect(shareOfLimit('lel', 20, '%LEL', ppm('lel', 100))).toEqual({ ok: false, problem: 'units-differ' });
  const averaged = { ...pointOf('co-twa'), id: 'lel-twa', channel: 'lel', unit: '%LEL' as const };
  const problems = checkTable({ ...DEFAULT_TABLE, setPoints: [...DEFAULT_TABLE.setPoints, averaged] });
  expect(problems.map(({ code }) => code)).toContain('wrong-kind');
  const both = createSeries();
  const readings = [
    { channel: 'h2s', value: 2, unit: 'ppm' },
    { channel: 'lel', value: 8, unit: '%LEL' },
    { channel: 'voc', value: 50, unit: 'ppm' },
  ];
  for (let at = 0; at < MINUTE_MS; at += 5000) addSample(both, START + at, readings, HOLD);
  expect(figureOf(exposureAt({ 'M-1': both }, MINUTE_MS, 'h2s')).twa?.value).toBe(2 / 480);
  expect(figureOf(exposureAt({ 'M-1': both }, MINUTE_MS, 'lel')).twa).toBeNull();
});
