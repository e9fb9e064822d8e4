import { describe, expect, test } from 'vitest';
import { packet as packetSchema } from '../../shared/protocol/packet.ts';
import { type ReadResult, readPacket } from '../../shared/protocol/read-packet.ts';

const NOW = Date.UTC(2026, 4, 14, 13, 5, 10);
const KEY = { monitor: 'M-07', boot: 'b3f1', seq: 1042 };
const EXAMPLE = {
  ...KEY,
  measuredAt: '2026-05-14T13:05:09.250Z',
  sentAt: '2026-05-14T13:05:09.900Z',
  readings: {
    o2: { value: 20.9, unit: '%vol' },
    lel: { value: 0, unit: '%LEL' },
    co: { value: 3, unit: 'ppm' },
    h2s: { value: 0, unit: 'ppm' },
    voc: { value: 100, unit: 'ppb' },
    gamma: { value: 7, unit: 'uR/h' },
  },
  status: { battery: 81, pump: 'running', motion: 'moving', mode: 'all', linkQuality: 78, intervalMs: 1000 },
  position: { lat: 44.0512, lon: -98.2114, accuracy: 6 },
};

function read(wire: unknown): Extract<ReadResult, { ok: true }> {
  const result = readPacket(wire, NOW);
  if (!result.ok) throw new Error(result.error.message);
  return result;
}
function refused(wire: unknown): Extract<ReadResult, { ok: false }> {
  const result = readPacket(wire, NOW);
  if (result.ok) throw new Error('was taken');
  return result;
}
const json = (text: string): unknown => JSON.parse(text);

describe('a packet is refused whole only without a usable monitor, boot or seq', () => {
  test.each([[null], [7], ['M-07'], [true], [[]], [[KEY]]])('%j is no object', (wire) => {
    expect(refused(wire).error).toMatchObject({ code: 'invalid', path: '' });
  });
  test.each([
    ['monitor', undefined],
    ['monitor', null],
    ['monitor', 7],
    ['monitor', ''],
    ['monitor', 'M'.repeat(65)],
    ['monitor', 'M\u0000'],
    ['monitor', 'M\n7'],
    ['monitor', { toString: 'M-07' }],
    ['boot', undefined],
    ['boot', 3],
    ['boot', ''],
    ['seq', undefined],
    ['seq', null],
    ['seq', '7'],
    ['seq', -1],
    ['seq', 1.5],
    ['seq', 2 ** 53],
    ['seq', Number.NaN],
    ['seq', Number.POSITIVE_INFINITY],
    ['seq', [7]],
  ])('%s %j', (name, value) => {
    const { error, monitor } = refused({ ...KEY, [name]: value });
    expect(error).toMatchObject({ code: 'invalid', path: name });
    expect(error.message).toMatch(new RegExp(`^${name}: expected `));
    expect(monitor).toBe(name === 'monitor' ? undefined : 'M-07');
  });
  test.each([0, 2 ** 53 - 1])('seq %s is taken', (seq) => {
    expect(read({ ...KEY, seq }).packet.seq).toBe(seq);
  });
  test('with nothing else it is taken', () => {
    expect(read(KEY)).toMatchObject({ packet: { ...KEY, readings: new Map() }, warnings: [] });
  });
});

test('the example of the contract is taken whole, without a warning', () => {
  const { packet, warnings } = read(EXAMPLE);
  expect(warnings).toEqual([]);
  expect(packetSchema.safeParse(EXAMPLE).success).toBe(true);
  expect([...packet.readings.keys()]).toEqual(['o2', 'lel', 'co', 'h2s', 'voc', 'gamma']);
  expect(packet.readings.get('voc')).toEqual({ value: 100, unit: 'ppb' });
  expect(packet).toMatchObject({
    measuredAt: NOW - 750,
    sentAt: NOW - 100,
    status: EXAMPLE.status,
    position: EXAMPLE.position,
  });
  expect(packet.aside).toBeUndefined();
  expect(packet.extra).toBeUndefined();
});

describe('a reading that cannot be understood stands in its place, marked', () => {
  const cases: [string, unknown, string, string, string][] = [
    ['NaN as text', { value: 'NaN', unit: '%LEL' }, 'value-invalid', 'readings.lel.value', '"NaN"'],
    ['a number as text', { value: '12', unit: '%LEL' }, 'value-invalid', 'readings.lel.value', '"12"'],
    ['null without a flag', { value: null, unit: '%LEL' }, 'value-invalid', 'readings.lel.value', 'null'],
    ['no value and no flag', { unit: '%LEL' }, 'value-invalid', 'readings.lel.value', 'null'],
    ['nothing', {}, 'value-invalid', 'readings.lel.value', 'null'],
    ['a list', [12], 'value-invalid', 'readings.lel', '[12]'],
    ['null', null, 'value-invalid', 'readings.lel', 'null'],
    ['no unit', { value: 12 }, 'unit-missing', 'readings.lel.unit', '12'],
    ['a null unit', { value: 12, unit: null }, 'unit-missing', 'readings.lel.unit', '12'],
    ['a bare number', 12, 'unit-missing', 'readings.lel', '12'],
    ['a unit that nobody knows', { value: 12, unit: '%' }, 'unit-unknown', 'readings.lel.unit', '12 %'],
    ['a unit in other letters', { value: 12, unit: '%lel' }, 'unit-unknown', 'readings.lel.unit', '12 %lel'],
    ['a unit of another channel', { value: 12, unit: 'uR/h' }, 'unit-unknown', 'readings.lel.unit', '12 uR/h'],
    ['a unit that is no text', { value: 12, unit: 3 }, 'unit-unknown', 'readings.lel.unit', '12 3'],
    ['an unknown flag alone', { flag: 'odd' }, 'value-invalid', 'readings.lel.value', 'null'],
  ];
  test.each(cases)('%s', (_, reading, code, path, raw) => {
    const { packet, warnings } = read({
      ...KEY,
      readings: { o2: { value: 18, unit: '%vol' }, lel: reading, co: { value: 3, unit: 'ppm' } },
      status: { motion: 'down', help: true },
    });
    expect(packet.readings.get('lel')).toEqual({ aside: { code, raw } });
    expect(warnings.at(-1)).toMatchObject({ code, path });
    expect(warnings.at(-1)?.message).toContain(path);
    expect(warnings.at(-1)?.message).toMatch(/expected/);
    // It never costs a good one, nor a call.
    expect(packet.readings.get('o2')).toEqual({ value: 18, unit: '%vol' });
    expect(packet.readings.get('co')).toEqual({ value: 3, unit: 'ppm' });
    expect(packet.status).toEqual({ motion: 'down', help: true });
  });
  test('a message names the units of the channel', () => {
    const { warnings } = read({ ...KEY, readings: { gamma: { value: 7 } } });
    for (const unit of ['uR/h', 'mR/h', 'R/h', 'uSv/h', 'mSv/h', 'Sv/h']) expect(warnings[0]?.message).toContain(unit);
    expect(warnings[0]?.message).not.toContain('%LEL');
  });
  test('a value that is finite but would not be in the column is none', () => {
    const { packet, warnings } = read({ ...KEY, readings: { co: { value: 1e308, unit: '%vol' } } });
    expect(packet.readings.get('co')).toMatchObject({ aside: { code: 'value-invalid' } });
    expect(warnings).toHaveLength(1);
  });
  test.each([
    ['null', null, 'an object'],
    ['a list', [], 'an object'],
    ['text', 'o2', 'an object'],
  ])('readings as %s', (_, readings, expected) => {
    const { packet, warnings } = read({ ...KEY, readings, status: { motion: 'down' } });
    expect(packet.readings.size).toBe(0);
    expect(packet.status?.motion).toBe('down');
    expect(warnings).toMatchObject([{ code: 'field-invalid', path: 'readings' }]);
    expect(warnings[0]?.message).toContain(expected);
  });
  test.each(['O2', 'nh 3', 'nh_3', '', 'x'.repeat(33), '__proto__'])(
    'channel name %j is set aside and kept',
    (name) => {
      const { packet, warnings } = read(
        json(
          `{"monitor":"a","boot":"b","seq":1,"readings":{${JSON.stringify(name)}:{"value":1,"unit":"ppm"},"o2":{"flag":"off"}}}`,
        ),
      );
      expect([...packet.readings.keys()]).toEqual(['o2']);
      expect(warnings).toHaveLength(1);
      expect(packet.aside?.[0]?.raw).toBe('{"value":1,"unit":"ppm"}');
    },
  );
  test.each(['constructor', 'tostring', 'nh3', '0', '-'])('channel %j that nobody knows keeps its unit', (name) => {
    const { packet, warnings } = read({ ...KEY, readings: { [name]: { value: 1, unit: 'ppm' } } });
    expect(warnings).toEqual([]);
    expect(packet.readings.get(name)).toEqual({ value: 1, unit: 'ppm' });
  });
  test('64 channels and the six known ones wherever they stand; the rest is set aside', () => {
    const many = Object.fromEntries(Array.from({ length: 64 }, (_, i) => [`c${i}`, { value: i, unit: 'ppm' }]));
    expect(read({ ...KEY, readings: many }).warnings).toEqual([]);
    const { packet, warnings } = read({
      ...KEY,
      readings: { ...many, c64: { value: 1, unit: 'ppm' }, o2: { value: 18, unit: '%vol' } },
    });
    expect(packet.readings.size).toBe(65);
    expect(packet.readings.get('o2')).toEqual({ value: 18, unit: '%vol' });
    expect(warnings).toMatchObject([{ code: 'field-invalid', path: 'readings.c64' }]);
  });
  test('thousands of bad channels are no thousands of warnings, and the last says how many', () => {
    const many = Object.fromEntries(Array.from({ length: 5000 }, (_, i) => [`C${i}`, 1]));
    const { warnings } = read({ ...KEY, readings: many });
    expect(warnings).toHaveLength(65);
    expect(warnings.at(-1)?.message).toContain('4936 more');
  });
});

describe('flags', () => {
  test.each(['warming', 'over-range', 'under-range', 'fault', 'off'])('%s needs no value', (flag) => {
    const { packet, warnings } = read({ ...KEY, readings: { lel: { flag } } });
    expect(packet.readings.get('lel')).toEqual({ flag });
    expect(warnings).toEqual([]);
  });
  test('a value beside it is kept for the record', () => {
    const { packet, warnings } = read({ ...KEY, readings: { lel: { value: 100, unit: '%LEL', flag: 'over-range' } } });
    expect(packet.readings.get('lel')).toEqual({ value: 100, unit: '%LEL', flag: 'over-range' });
    expect(warnings).toEqual([]);
  });
  test.each([
    ['without a unit', { value: 3, flag: 'fault' }, 'unit-missing', '3'],
    ['with an unknown unit', { value: 3, unit: 'x', flag: 'fault' }, 'unit-unknown', '3 x'],
    ['that is text', { value: 'low', unit: '%LEL', flag: 'fault' }, 'value-invalid', '"low"'],
  ])('a value %s beside it is told of and kept as text; the flag counts', (_, reading, code, raw) => {
    const { packet, warnings } = read({ ...KEY, readings: { lel: reading } });
    expect(packet.readings.get('lel')).toEqual({ flag: 'fault', aside: { code, raw } });
    expect(warnings).toMatchObject([{ code, path: 'readings.lel.value' }]);
  });
  test('an unknown one is set aside; the number beside it still counts', () => {
    const { packet, warnings } = read({ ...KEY, readings: { lel: { value: 30, unit: '%LEL', flag: 'ok' } } });
    expect(packet.readings.get('lel')).toEqual({ value: 30, unit: '%LEL' });
    expect(warnings).toMatchObject([{ code: 'field-invalid', path: 'readings.lel.flag' }]);
    expect(warnings[0]?.message).toContain('over-range');
  });
  test('null stands for none', () => {
    expect(read({ ...KEY, readings: { lel: { value: 3, unit: '%LEL', flag: null } } }).warnings).toEqual([]);
    expect(read({ ...KEY, readings: { lel: { value: null, flag: 'warming' } } }).warnings).toEqual([]);
  });
});

describe('places', () => {
  test.each([
    ['latitude 91', { lat: 91, lon: 5 }, ['position.lat'], '"position.lon":5'],
    ['longitude as text', { lat: 44, lon: '5' }, ['position.lon'], '"position.lat":44'],
    ['half a place', { lat: 44 }, ['position.lon'], '"position.lat":44'],
    ['the other half', { lon: 5, accuracy: 3 }, ['position.lat'], '"position.accuracy":3'],
    ['no place', {}, ['position.lat', 'position.lon'], undefined],
  ])('%s is none, and nothing of it is lost', (_, position, paths, kept) => {
    const { packet, warnings } = read({ ...KEY, position });
    expect(packet.position).toBeUndefined();
    expect(warnings.map((one) => one.path)).toEqual(paths);
    if (kept !== undefined) expect(packet.extra).toContain(kept);
  });
  test('a bad accuracy costs no place', () => {
    const { packet, warnings } = read({ ...KEY, position: { lat: 44, lon: 5, accuracy: -1 } });
    expect(packet.position).toEqual({ lat: 44, lon: 5 });
    expect(warnings).toMatchObject([{ path: 'position.accuracy' }]);
  });
  test('by grid reference', () => {
    // The Washington Monument by FGDC-STD-011-2001's own example: 18S UJ 23480 06470, 38.8895 N 77.0352 W about.
    const { packet, warnings } = read({ ...KEY, position: { usng: '18SUJ2348006470', accuracy: 5 } });
    expect(warnings).toEqual([]);
    expect(packet.position?.lat).toBeCloseTo(38.8895, 3);
    expect(packet.position?.lon).toBeCloseTo(-77.0352, 3);
    expect(packet.position).toMatchObject({ usng: '18SUJ2348006470', accuracy: 5 });
  });
  test.each(['18SUJ234', '18SIJ2348', 'here', '', 7, null, ' '.repeat(9_000)])('grid reference %j', (usng) => {
    const { packet, warnings } = read({ ...KEY, position: { usng } });
    expect(packet.position).toBeUndefined();
    expect(warnings).toMatchObject([{ path: 'position.usng' }]);
  });
  test('given both ways, latitude and longitude count and the reference is kept', () => {
    const { packet, warnings } = read({ ...KEY, position: { lat: 44, lon: 5, usng: '18SUJ2348006470' } });
    expect(packet.position).toEqual({ lat: 44, lon: 5 });
    expect(packet.extra).toContain('18SUJ2348006470');
    expect(warnings).toEqual([]);
  });
});

describe('times', () => {
  test.each(['1970-01-01T00:00:00Z', '2099-01-01T00:00:00Z', '0000-01-01T00:00:00Z', '9999-12-31T23:59:59-23:59'])(
    '%s is stored, with a warning',
    (time) => {
      const { packet, warnings } = read({ ...KEY, measuredAt: time, sentAt: time });
      expect(packet.measuredAt).toBe(Date.parse(time));
      expect(warnings).toMatchObject([
        { code: 'clock-unknown', path: 'measuredAt' },
        { code: 'clock-unknown', path: 'sentAt' },
      ]);
    },
  );
  test.each([
    '2026-02-30T00:00:00Z',
    '2025-02-29T00:00:00Z',
    '2026-04-31T00:00:00Z',
    '2026-13-01T00:00:00Z',
    '2026-05-00T00:00:00Z',
    '2026-05-14T24:00:00Z',
    '2026-05-14T13:60:00Z',
    '2026-05-14T13:05:09',
    '2026-05-14T13:05Z',
    '2026-05-14 13:05:09Z',
    '2026-05-14',
    '14.05.2026',
    '',
    1_778_763_909_250,
    null,
    {},
  ])('%j is no time', (time) => {
    const { packet, warnings } = read({ ...KEY, measuredAt: time, status: { zeroedAt: time } });
    expect(packet.measuredAt).toBeUndefined();
    expect(packet.status?.zeroedAt).toBeUndefined();
    expect(warnings.map((one) => [one.code, one.path])).toEqual([
      ['field-invalid', 'measuredAt'],
      ['field-invalid', 'status.zeroedAt'],
    ]);
  });
  test('29 February of a leap year, an offset and nine decimals are times', () => {
    expect(read({ ...KEY, measuredAt: '2024-02-29T13:05:09.123456789+02:00' }).packet.measuredAt).toBe(
      Date.UTC(2024, 1, 29, 11, 5, 9, 123),
    );
  });
  test.each([-1, '5', null, Number.NaN])('ageMs %j is set aside', (ageMs) => {
    const { packet, warnings } = read({ ...KEY, ageMs });
    expect(packet.ageMs).toBeUndefined();
    expect(warnings).toMatchObject([{ path: 'ageMs' }]);
  });
});

describe('status, weather and marks', () => {
  test.each([
    ['battery', 101, 'status.battery', /0 to 100/],
    ['pump', 'on', 'status.pump', /running, blocked, off, none/],
    ['motion', 'DOWN', 'status.motion', /moving, still, down/],
    ['help', 'true', 'status.help', /true or false/],
    ['help', 1, 'status.help', /true or false/],
    ['mode', 'gas', 'status.mode', /radiation-only/],
    ['intervalMs', 0, 'status.intervalMs', /50/],
    ['intervalMs', 1000.5, 'status.intervalMs', /integer/],
    ['testDue', null, 'status.testDue', /true or false/],
  ])('%s %j is set aside alone', (name, value, path, expected) => {
    const { packet, warnings } = read({ ...KEY, status: { linkQuality: 5, [name]: value } });
    expect(packet.status).toEqual({ linkQuality: 5 });
    expect(warnings).toMatchObject([{ code: 'field-invalid', path }]);
    expect(warnings[0]?.message).toMatch(expected);
    expect(packet.aside).toEqual([{ path, raw: JSON.stringify(value) }]);
  });
  test('weather by its fields', () => {
    const { packet, warnings } = read({ ...KEY, weather: { windFrom: 361, windSpeed: 3, pressure: 980 } });
    expect(packet.weather).toEqual({ windSpeed: 3, pressure: 980 });
    expect(warnings).toMatchObject([{ path: 'weather.windFrom' }]);
  });
  test('test and simulated are true, or nothing', () => {
    expect(read({ ...KEY, test: true, simulated: true }).packet).toMatchObject({ test: true, simulated: true });
    const { packet, warnings } = read({ ...KEY, test: 1, simulated: 'yes' });
    expect(packet).not.toHaveProperty('test');
    expect(packet).not.toHaveProperty('simulated');
    expect(warnings.map((one) => one.path)).toEqual(['test', 'simulated']);
  });
});

describe('keys that nobody knows', () => {
  test('are kept wherever they stand, without a warning', () => {
    const { packet, warnings } = read({
      ...KEY,
      firmware: '1.2',
      readings: { o2: { value: 20.9, unit: '%vol', cell: 3 } },
      status: { gps: 'fix' },
      position: { lat: 1, lon: 2, alt: 3 },
      weather: { rain: true },
    });
    expect(warnings).toEqual([]);
    expect(JSON.parse(packet.extra ?? '')).toEqual({
      firmware: '1.2',
      'readings.o2.cell': 3,
      'status.gps': 'fix',
      'position.alt': 3,
      'weather.rain': true,
    });
  });
  test('__proto__ and its kind harm nothing', () => {
    const wire = json(
      '{"monitor":"M","boot":"b","seq":1,"__proto__":{"seq":9,"help":true},"constructor":{"prototype":{"x":1}},' +
        '"readings":{"__proto__":{"value":1,"unit":"ppm"},"o2":{"__proto__":{"flag":"off"},"value":18,"unit":"%vol"}},' +
        '"status":{"__proto__":{"motion":"down"},"hasOwnProperty":1},"position":{"__proto__":{"lat":1,"lon":2}}}',
    );
    const { packet } = read(wire);
    expect(packet.seq).toBe(1);
    expect(packet.readings.get('o2')).toEqual({ value: 18, unit: '%vol' });
    expect(packet.status?.motion).toBeUndefined();
    expect(packet.position).toBeUndefined();
    expect(Object.keys({})).toEqual([]);
    expect(Object.keys(json(packet.extra ?? '') as object)).toEqual(
      expect.arrayContaining(['__proto__', 'constructor', 'status.__proto__', 'readings.o2.__proto__']),
    );
  });
  test('more than 4 kB of them is set aside, with a warning', () => {
    const { packet, warnings } = read({ ...KEY, blob: 'x'.repeat(5000) });
    expect(packet.extra).toBeUndefined();
    expect(warnings).toMatchObject([{ code: 'field-invalid', path: 'blob' }]);
    expect(packet.aside?.[0]?.raw.length).toBe(200);
  });
  test('nested a hundred thousand deep, wherever it stands, costs nothing else', () => {
    const deep = json('['.repeat(100_000) + ']'.repeat(100_000));
    const { packet, warnings } = read({
      ...KEY,
      deep,
      via: deep,
      readings: { o2: { value: 18, unit: '%vol' }, co: deep, lel: { value: deep, unit: deep, flag: deep } },
      status: { battery: deep, motion: 'down' },
      position: { usng: deep },
      weather: deep,
    });
    expect(packet.readings.get('o2')).toEqual({ value: 18, unit: '%vol' });
    expect(packet.status?.motion).toBe('down');
    expect(warnings.length).toBeGreaterThan(5);
  });
});
