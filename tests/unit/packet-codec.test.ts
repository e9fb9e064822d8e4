import { deepStrictEqual } from 'node:assert';
import { describe, expect, it } from 'vitest';
import { ByteReader } from '../../server/journal/byte-reader.ts';
import { ByteWriter } from '../../server/journal/byte-writer.ts';
import { encodePacket } from '../../server/journal/packet-codec.ts';
import { decodePacket } from '../../server/journal/packet-decoder.ts';
import type { StoredPacket } from '../../shared/protocol/stored-packet.ts';
import { START, samplePacket, steadyRandom } from './journal-sample.ts';

const AT_MS = Math.floor(START / 1000);
const noWords = {
  numberOf: () => 0,
  textOf: (): string => {
    throw new RangeError('no words');
  },
};

function bytesOf(packet: StoredPacket): Buffer {
  const out = new ByteWriter();
  encodePacket(out, 'relay-1', packet, AT_MS, noWords);
  return out.copy();
}

function numberThere(x: number): { back: number; size: number } {
  const out = new ByteWriter();
  out.number(x);
  return { back: new ByteReader(out.copy()).number(), size: out.length };
}

describe('numbers in a packet', () => {
  // 0.1 + 0.2 is 0.30000000000000004 in IEEE 754 binary64: no short decimal gives it back.
  it.each([-0, 1e300, 0.1 + 0.2, 5e-324, Number.MAX_VALUE, 2 ** 53, -(2 ** 53) + 1, 1 / 3, 0.1234567, 1e21])(
    'keeps %d to the last bit',
    (x) => {
      deepStrictEqual(numberThere(x).back, x);
    },
  );

  it('keeps ordinary values in one to three bytes', () => {
    expect([0, 7, 20.9, 0.1, 0.235, 100, -3.5, 1000].map((x) => numberThere(x).size)).toEqual([1, 1, 2, 1, 2, 2, 2, 2]);
  });
});

describe('a packet as bytes', () => {
  it('comes back as it was, readings in their order', () => {
    const packet = samplePacket(4711, 100, steadyRandom(7));
    const reversed = { ...packet, readings: new Map([...packet.readings].reverse()) };
    for (const one of [packet, reversed]) {
      const decoded = decodePacket(bytesOf(one), { ...one, via: undefined }, AT_MS, noWords);
      deepStrictEqual(decoded.packet, one);
      expect([...decoded.packet.readings.keys()]).toEqual([...one.readings.keys()]);
      expect(decoded.relay).toBe('relay-1');
    }
  });

  it('keeps texts that were cut in the middle of a character', () => {
    const raw = `"${'\u{1f525}'.slice(0, 1)}`;
    const packet: StoredPacket = {
      monitor: 'M-1',
      boot: 'b',
      seq: 0,
      readings: new Map([['__proto__', { aside: { code: 'unit-unknown', raw } }]]),
      aside: [{ path: '/status/pump', raw }],
    };
    deepStrictEqual(decodePacket(bytesOf(packet), { ...packet, via: undefined }, AT_MS, noWords).packet, packet);
  });

  it('refuses bytes that were cut, that go on, or that are of another version', () => {
    const packet = samplePacket(1, 1, steadyRandom(3));
    const bytes = bytesOf(packet);
    const read = (body: Buffer) => () => decodePacket(body, { ...packet, via: undefined }, AT_MS, noWords);
    for (let length = 0; length < bytes.length; length++) {
      expect(read(bytes.subarray(0, length)), `cut to ${length}`).toThrow(RangeError);
    }
    expect(read(Buffer.concat([bytes, Buffer.from([0])]))).toThrow(/left over/);
    expect(read(Buffer.concat([Buffer.from([99]), bytes.subarray(1)]))).toThrow(/version 99/);
  });
});
