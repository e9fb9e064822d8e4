import { deepStrictEqual } from 'node:assert';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { ByteWriter } from '../../server/journal/byte-writer.ts';
import { encodePacket } from '../../server/journal/packet-codec.ts';
import { decodePacket } from '../../server/journal/packet-decoder.ts';
import type { StoredPacket, StoredReading } from '../../shared/protocol/stored-packet.ts';
import { UNITS } from '../../shared/quantity/channels.ts';

/** Any string of UTF-16 units, halves of surrogate pairs among them. */
const text = fc.oneof(fc.string({ unit: 'binary' }), fc.string(), fc.constantFrom('\ud800', '\udc00x', 'ä\u0000b', ''));
const number = fc.oneof(
  fc.double(),
  fc.integer(),
  fc.maxSafeInteger(),
  fc.tuple(fc.integer(), fc.integer({ min: 0, max: 9 })).map(([m, e]) => m / 10 ** e),
  fc.constantFrom(-0, 0, 1e300, 0.1 + 0.2, Number.MAX_VALUE, Number.MIN_VALUE),
);
const time = fc.oneof(
  fc.integer({ min: 1_778_000_000_000, max: 1_779_999_999_999 }),
  fc.integer({ min: 1_778_000_000, max: 1_779_999_999 }).map((s) => s * 1000),
  number,
);
const optional = <T>(shape: { [K in keyof T]: fc.Arbitrary<T[K]> }) => fc.record(shape, { requiredKeys: [] });

const warningCode = fc.constantFrom('unit-missing', 'unit-unknown', 'value-invalid', 'field-invalid', 'clock-unknown');
const reading = optional<Required<StoredReading>>({
  value: number,
  unit: fc.constantFrom(...UNITS),
  flag: fc.constantFrom('warming', 'over-range', 'under-range', 'fault', 'off'),
  aside: fc.record({ code: warningCode, raw: text }),
});
const channel = fc.oneof(
  fc.constantFrom('o2', 'lel', 'co', 'h2s', 'voc', 'gamma', '__proto__', 'constructor', 'cl2', 'nh3'),
  text,
);
const packet: fc.Arbitrary<StoredPacket> = fc.record(
  {
    monitor: text,
    boot: text,
    seq: fc.maxSafeNat(),
    via: text,
    measuredAt: time,
    sentAt: time,
    ageMs: number,
    readings: fc.array(fc.tuple(channel, reading), { maxLength: 8 }).map((entries) => new Map(entries)),
    status: optional<Required<NonNullable<StoredPacket['status']>>>({
      battery: number,
      pump: fc.constantFrom('running', 'blocked', 'off', 'none'),
      motion: fc.constantFrom('moving', 'still', 'down'),
      help: fc.boolean(),
      mode: fc.constantFrom('all', 'gas-only', 'radiation-only'),
      linkQuality: number,
      intervalMs: number,
      zeroedAt: time,
      bumpedAt: time,
      calibratedAt: time,
      testDue: fc.boolean(),
    }),
    position: fc.record({ lat: number, lon: number, accuracy: number, usng: text }, { requiredKeys: ['lat', 'lon'] }),
    weather: optional<Required<NonNullable<StoredPacket['weather']>>>({
      windFrom: number,
      windSpeed: number,
      temperature: number,
      humidity: number,
      pressure: number,
    }),
    test: fc.constant(true as const),
    simulated: fc.constant(true as const),
    aside: fc.array(fc.record({ path: text, raw: text }), { maxLength: 3 }),
    extra: text,
  },
  { requiredKeys: ['monitor', 'boot', 'seq', 'readings'], noNullPrototype: true },
);

/** Numbers the words it is given, up to a limit, like a file does. */
function wordBook(limit: number) {
  const texts: string[] = [];
  return {
    numberOf(word: string): number {
      const found = texts.indexOf(word);
      if (found >= 0) return found + 1;
      return texts.length < limit ? texts.push(word) : 0;
    },
    textOf(number: number): string {
      const found = texts[number - 1];
      if (found === undefined) throw new RangeError('no such word');
      return found;
    },
  };
}

/** fast-check makes records without a prototype now and then; a stored packet is plain objects all through. */
function plain<T>(value: T): T {
  return structuredClone(value);
}

it('gives every packet back as it was', () => {
  const out = new ByteWriter();
  const atMs = fc.oneof(fc.integer({ min: 1_778_000_000_000, max: 1_780_000_000_000 }), fc.integer());
  fc.assert(
    fc.property(packet, text, atMs, fc.integer({ min: 0, max: 3 }), (generated, relay, at, limit) => {
      const wanted = plain(generated);
      const words = wordBook(limit);
      out.reset();
      encodePacket(out, relay, wanted, at, words);
      const { monitor, boot, seq, via } = wanted;
      const decoded = decodePacket(out.copy(), { monitor, boot, seq, via }, at, words);
      deepStrictEqual(decoded.packet, wanted);
      expect(decoded.relay).toBe(relay);
      expect([...decoded.packet.readings.keys()]).toEqual([...wanted.readings.keys()]);
    }),
    { numRuns: 3000 },
  );
});

it('never hangs or answers with something else than a packet or a RangeError on any bytes', () => {
  const words = { textOf: () => 'word' };
  const identity = { monitor: 'M-1', via: undefined, boot: 'b', seq: 1 };
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 80 }), (bytes) => {
      try {
        decodePacket(Buffer.from([1, ...bytes]), identity, 0, words);
      } catch (error) {
        expect(error).toBeInstanceOf(RangeError);
      }
    }),
    { numRuns: 3000 },
  );
});
