import fc from 'fast-check';
import { expect, test } from 'vitest';
import { packet as packetSchema, type Warning } from '../../shared/protocol/packet.ts';
import { readPacket } from '../../shared/protocol/read-packet.ts';
import { UNITS } from '../../shared/quantity/channels.ts';

const NOW = Date.UTC(2026, 4, 14, 13, 5, 10);

test('whatever JSON can say is answered, never thrown at, and what is taken is all there', () => {
  fc.assert(
    fc.property(fc.jsonValue({ maxDepth: 5 }), fc.boolean(), (value, keyed) => {
      const wire =
        keyed && typeof value === 'object' && !Array.isArray(value)
          ? { ...value, monitor: 'M', boot: 'b', seq: 1 }
          : value;
      const result = readPacket(wire, NOW);
      expect(typeof result.ok).toBe('boolean');
      if (result.ok) for (const one of result.warnings) expect(one.message).toMatch(/expected|cannot be right/);
    }),
    { numRuns: 500 },
  );
});

// Near misses: each field is right, or wrong in one of the ways that happen.
const odd = fc.constantFrom<unknown>('', 'x', -1, 0.5, 1e9, null, true, [], {}, '7', 91);
const maybe = <T>(good: fc.Arbitrary<T>) =>
  fc.oneof({ weight: 40, arbitrary: good as fc.Arbitrary<unknown> }, { weight: 1, arbitrary: odd });
const time = fc.constantFrom(
  '2026-05-14T13:05:09.250Z',
  '2026-05-14T13:05:09+02:00',
  '2026-02-30T00:00:00Z',
  '2026-05-14T24:00:00Z',
  '2026-05-14T13:05Z',
  '2026-05-14T13:05:09.1234567890123Z',
);
const reading = fc.record(
  {
    value: maybe(fc.double({ min: -10, max: 5000, noNaN: true })),
    unit: maybe(fc.constantFrom(...UNITS)),
    flag: maybe(fc.constantFrom('warming', 'over-range', 'under-range', 'fault', 'off')),
    extra: fc.nat(),
  },
  { requiredKeys: [] },
);
const wire = fc.record(
  {
    monitor: maybe(fc.constant('M-1')),
    boot: maybe(fc.constant('b')),
    seq: maybe(fc.nat()),
    via: maybe(fc.constant('relay-2')),
    measuredAt: maybe(time),
    sentAt: maybe(time),
    ageMs: maybe(fc.nat()),
    readings: maybe(
      fc.dictionary(fc.constantFrom('o2', 'lel', 'co', 'gamma', 'nh3', 'O2'), maybe(reading), { maxKeys: 3 }),
    ),
    status: maybe(
      fc.record(
        {
          battery: maybe(fc.nat(100)),
          pump: maybe(fc.constantFrom('running', 'none')),
          motion: maybe(fc.constantFrom('moving', 'still', 'down')),
          help: maybe(fc.boolean()),
          mode: maybe(fc.constantFrom('all', 'gas-only')),
          linkQuality: maybe(fc.nat(100)),
          intervalMs: maybe(fc.integer({ min: 50, max: 5000 })),
          zeroedAt: maybe(time),
          testDue: maybe(fc.boolean()),
        },
        { requiredKeys: [] },
      ),
    ),
    position: maybe(
      fc.record(
        { lat: maybe(fc.nat(90)), lon: maybe(fc.nat(180)), accuracy: maybe(fc.nat(9)) },
        { requiredKeys: ['lat', 'lon'] },
      ),
    ),
    weather: maybe(
      fc.record({ windFrom: maybe(fc.nat(360)), pressure: maybe(fc.constant(1013)) }, { requiredKeys: [] }),
    ),
    test: maybe(fc.boolean()),
    simulated: maybe(fc.boolean()),
  },
  { requiredKeys: ['monitor', 'boot', 'seq'] },
);

/** What the schema cannot say: a reading needs a flag, or a value with a unit of its channel; half a place is none. */
function beyondSchema({ code, path }: Warning): boolean {
  return code !== 'field-invalid' || path === 'position.lat' || path === 'position.lon';
}

test('what is taken without a warning is what the published schema says, and the other way round', () => {
  let clean = 0;
  let faulty = 0;
  fc.assert(
    fc.property(wire, (value) => {
      const result = readPacket(value, NOW);
      const bySchema = packetSchema.safeParse(withoutNullReadings(value)).success;
      const warnings = result.ok ? result.warnings.filter((one) => one.code !== 'clock-unknown') : [];
      if (result.ok && warnings.length === 0) {
        clean += 1;
        expect(bySchema).toBe(true);
      }
      if (bySchema) {
        expect(result.ok).toBe(true);
        expect(warnings.filter((one) => !beyondSchema(one))).toEqual([]);
      } else faulty += 1;
    }),
    { numRuns: 3000 },
  );
  expect(Math.min(clean, faulty)).toBeGreaterThan(100);
});

function withoutNullReadings(value: Record<string, unknown>): unknown {
  const { readings } = value;
  if (typeof readings !== 'object' || readings === null || Array.isArray(readings)) return value;
  const cleaned = Object.entries(readings).map(([name, one]): [string, unknown] => {
    if (typeof one !== 'object' || one === null || Array.isArray(one)) return [name, one];
    return [name, Object.fromEntries(Object.entries(one).filter(([, field]) => field !== null))];
  });
  return { ...value, readings: Object.fromEntries(cleaned) };
}
