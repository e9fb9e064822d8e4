import { describe, expect, test } from 'vitest';
import { asSent, decimalsOf, decompose, scaledBig } from '../../shared/exposure/decimal.ts';
import { addSums, exactSum, sumToNumber } from '../../shared/exposure/exact-sum.ts';
import { integral } from '../../shared/exposure/integral.ts';
import {
  createWriter,
  readSignedAny,
  readUnsignedAny,
  takeBytes,
  writeSigned,
  writeUnsigned,
} from '../../shared/exposure/packed.ts';
import {
  addSample,
  createSeries,
  type ExposureReading,
  LATE_HORIZON_MS,
  seriesBytes,
} from '../../shared/exposure/series.ts';

const START = 1_700_000_000_000;
const ppm = (value: number, channel = 'co'): ExposureReading => ({ channel, value, unit: 'ppm' });

describe('addSample', () => {
  test('refuses and counts what is beyond the late horizon, and takes what is just within it', () => {
    const series = createSeries();
    const at = START + LATE_HORIZON_MS;
    expect(addSample(series, at, [ppm(1)], 1000)).toEqual({ status: 'added' });
    expect(addSample(series, at - LATE_HORIZON_MS, [ppm(2)], 1000)).toEqual({ status: 'added' });
    expect(addSample(series, at - LATE_HORIZON_MS - 1, [ppm(3)], 1000)).toEqual({ status: 'beyond-horizon' });
    expect(series.beyondHorizon).toBe(1);
    expect(integral(series, 'co', START - 10_000, at + 10_000, 'hold')[0]).toMatchObject({ samples: 2, peak: 2 });
  });

  test.each<[string, ExposureReading, ExposureReading, number | null]>([
    ['the larger value', ppm(5), ppm(7), 7],
    ['a number over a missing one', ppm(5), { channel: 'co', value: null }, 5],
    ['a number over over-range', ppm(5), { channel: 'co', value: null, overRange: true, unit: 'ppm' }, 5],
    ['the larger amount of two units', ppm(5), { channel: 'co', value: 900, unit: 'ppb' }, 5],
    [
      'for oxygen the lower value',
      { channel: 'o2', value: 20.9, unit: '%vol' },
      { channel: 'o2', value: 18, unit: '%vol' },
      18,
    ],
  ])('of two samples of one time takes %s, in either order', (_name, one, other, expected) => {
    for (const order of [
      [one, other],
      [other, one],
    ]) {
      const series = createSeries();
      for (const reading of order) addSample(series, START, [reading], 1000);
      const rows = integral(series, one.channel, START, START + 5000, 'hold');
      expect(rows.map(({ peak, samples, coveredMs }) => [peak, samples, coveredMs])).toEqual([[expected, 1, 1000]]);
    }
  });

  test('of two equal samples of one time the longer hold stands, in either order', () => {
    for (const holds of [
      [1000, 4000],
      [4000, 1000],
    ]) {
      const series = createSeries();
      for (const hold of holds) addSample(series, START, [ppm(5)], hold);
      expect(integral(series, 'co', START, START + 9000, 'hold')[0]?.coveredMs).toBe(4000);
    }
  });

  test('a time that is none is a fault of the caller', () => {
    expect(() => addSample(createSeries(), Number.NaN, [ppm(1)], 1000)).toThrow(RangeError);
  });

  test('a channel named like a part of every object is a channel', () => {
    const series = createSeries();
    addSample(series, START, [ppm(3, 'constructor')], 1000);
    expect(integral(series, 'constructor', START, START + 1000, 'hold')[0]?.peak).toBe(3);
    expect(integral(series, 'tostring', START, START + 1000, 'hold')).toEqual([]);
  });
});

test('a change of set-up does not reach back: the hold in force when a sample came stays its own', () => {
  const series = createSeries();
  addSample(series, START, [ppm(1)], 10_000);
  addSample(series, START + 60_000, [ppm(1)], 30_000);
  expect(integral(series, 'co', START, START + 200_000, 'hold')[0]?.coveredMs).toBe(40_000);
});

test('a cut bin is shared out evenly, and the parts add up to the bin', () => {
  const series = createSeries();
  const from = START - (START % 10_000);
  for (let at = from; at < from + 3 * LATE_HORIZON_MS; at += 1000)
    addSample(series, at, [ppm(at % 10_000 === 0 ? 10 : 0)], 5000);
  const [bin] = integral(series, 'co', from, from + 10_000, 'hold');
  const [part] = integral(series, 'co', from + 2000, from + 7000, 'hold');
  expect([bin?.sum.digits, bin?.sum.exponent, bin?.coveredMs, bin?.samples]).toEqual([1n, 4, 10_000, 10]);
  expect([part && sumToNumber(part.sum), part?.coveredMs, part?.samples, part?.peak]).toEqual([5000, 5000, 5, 10]);
});

test('about the late horizon a figure does not show which samples are packed away already', () => {
  // One series in order, one whose odd seconds come half an hour late: the same content in other chunks.
  const reading = (second: number) => [ppm((second * 7919) % 101)];
  const inOrder = createSeries();
  const late = createSeries();
  for (let second = 0; second < 10_800; second += 1) {
    addSample(inOrder, START + second * 1003, reading(second), 5000);
    if (second % 2 === 0) addSample(late, START + second * 1003, reading(second), 5000);
    const old = second - 1801;
    if (old > 0 && old % 2 === 1) addSample(late, START + old * 1003, reading(old), 5000);
    if (second % 389 !== 0 || second < 9000) continue;
    const same = structuredClone(late);
    for (let missed = Math.max(1, old); missed <= second; missed += 1) {
      if (missed % 2 === 1) addSample(same, START + missed * 1003, reading(missed), 5000);
    }
    const line = START + second * 1003 - LATE_HORIZON_MS;
    for (let about = -400_000; about < 20_000; about += 13_337) {
      const sums = [inOrder, same].map((series) => integral(series, 'co', line + about, START * 2, 'trapezoid'));
      expect(sums[1]).toEqual(sums[0]);
    }
  }
});

test('a day of one reading a second stays small', () => {
  const series = createSeries();
  for (let second = 0; second < 86_400; second += 1) {
    addSample(series, START + second * 1000, [ppm(30 + ((second * 7919) % 40) / 10)], 10_000);
  }
  // two bytes a sample for two hours, and under 20 bytes a bin for the rest, with room for arrays
  expect(seriesBytes(series)).toBeLessThan(7200 * 6 + 8640 * 20);
  expect(integral(series, 'co', START, START + 86_400_000, 'hold')[0]).toMatchObject({
    samples: 86_400,
    coveredMs: 86_400_000,
  });
});

describe('decimals', () => {
  test('values are kept as they were sent, to twelve digits', () => {
    expect(asSent(0.1 + 0.2)).toBe(0.3);
    expect(asSent(20.9)).toBe(20.9);
    expect(asSent(123456789.12345678)).toBe(123456789.123);
    expect(Object.is(asSent(-0), 0)).toBe(true);
    expect(asSent(7e-8)).toBe(7e-8);
    expect(asSent(1e-30)).toBe(0);
    expect(asSent(1e300)).toBe(1e300);
  });

  test('are taken apart exactly', () => {
    expect(decompose(20.9)).toEqual({ mantissa: 209, exponent: -1 });
    expect(decompose(1500)).toEqual({ mantissa: 15, exponent: 2 });
    expect(decompose(7e-8)).toEqual({ mantissa: 7, exponent: -8 });
    expect([decimalsOf(7e-8), decimalsOf(20.9), decimalsOf(4)]).toEqual([8, 1, 0]);
    expect(scaledBig(1e22, 1)).toBe(10n ** 23n);
  });

  test('sums have one form', () => {
    expect(exactSum(81_250n, -3)).toEqual({ digits: 8125n, exponent: -2 });
    expect(addSums(exactSum(5n, -1), exactSum(-5n, -1))).toEqual({ digits: 0n, exponent: 0 });
    expect(sumToNumber(exactSum(3n, -1))).toBe(0.3);
  });
});

test('whole numbers of any size go through bytes', () => {
  const numbers = [0, 1, 127, 128, 2 ** 31, 2 ** 51, 2n ** 60n, 10n ** 40n];
  const writer = createWriter();
  for (const number of numbers) {
    writeUnsigned(writer, number);
    writeSigned(writer, -number);
  }
  const reader = { bytes: takeBytes(writer), offset: 0 };
  for (const number of numbers) {
    expect(readUnsignedAny(reader)).toBe(number);
    const back = readSignedAny(reader);
    expect(back === -number || (back === 0 && number === 0)).toBe(true);
  }
  expect(reader.offset).toBe(reader.bytes.length);
  expect(() => readUnsignedAny(reader)).toThrow(RangeError);
});
