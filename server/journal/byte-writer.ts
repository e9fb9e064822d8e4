/** A buffer that grows and is used again: the journal writes every body and every commit through one of these. */
import { POWERS_OF_TEN, RAW_EXPONENT, RAW_TIME, UTF16, WHOLE_SECONDS } from './byte-format.ts';
import { isWellFormed } from './well-formed.ts';

/** Above it a mantissa or a time difference would not fit a varint together with its tag. */
const LARGEST_TAGGED = 2 ** 48;
const TWO_TO_32 = 2 ** 32;

export class ByteWriter {
  #bytes = Buffer.allocUnsafeSlow(8192);
  #length = 0;

  get length(): number {
    return this.#length;
  }

  /** Forgets what was written; the memory stays. */
  reset(): void {
    this.#length = 0;
  }

  /** A view, good until the next write. */
  view(from = 0, to = this.#length): Buffer {
    return this.#bytes.subarray(from, to);
  }

  /** A copy of its own. */
  copy(): Buffer {
    return Buffer.from(this.view());
  }

  u8(x: number): void {
    this.#room(1);
    this.#bytes[this.#length++] = x;
  }

  /** Unsigned, big-endian. */
  u32(x: number): void {
    this.#room(4);
    this.#length = this.#bytes.writeUInt32BE(x, this.#length);
  }

  /** A safe integer as 64-bit two's complement, big-endian. */
  i64(x: number): void {
    this.#room(8);
    const high = Math.floor(x / TWO_TO_32);
    this.#bytes.writeInt32BE(high, this.#length);
    this.#bytes.writeUInt32BE(x - high * TWO_TO_32, this.#length + 4);
    this.#length += 8;
  }

  /** Signed, little-endian. */
  i32(x: number): void {
    this.#room(4);
    this.#length = this.#bytes.writeInt32LE(x, this.#length);
  }

  /** Overwrites four bytes that were written before. */
  setU32(place: number, x: number): void {
    this.#bytes.writeUInt32BE(x, place);
  }

  raw(source: Uint8Array): void {
    this.#room(source.length);
    this.#bytes.set(source, this.#length);
    this.#length += source.length;
  }

  /** An integer from 0 to 2^53-1, seven bits a byte, the least first. */
  varint(value: number): void {
    this.#room(8);
    const bytes = this.#bytes;
    let at = this.#length;
    let x = value;
    while (x > 0x7fff_ffff) {
      bytes[at++] = (x % 128) | 128;
      x = Math.floor(x / 128);
    }
    while (x > 127) {
      bytes[at++] = (x & 127) | 128;
      x >>>= 7;
    }
    bytes[at++] = x;
    this.#length = at;
  }

  /** Eight bytes, little-endian, every bit kept. */
  double(x: number): void {
    this.#room(8);
    this.#length = this.#bytes.writeDoubleLE(x, this.#length);
  }

  /** Any number: as a decimal of at most six places where that gives the same double back, else as the double. */
  number(x: number): void {
    for (let exponent = 0; exponent < RAW_EXPONENT; exponent++) {
      const power = POWERS_OF_TEN[exponent] ?? 1;
      const mantissa = Math.round(x * power);
      if (mantissa / power === x && Math.abs(mantissa) < LARGEST_TAGGED) {
        if (x === 0 && Object.is(x, -0)) break;
        this.varint(zigzag(mantissa) * 8 + exponent);
        return;
      }
    }
    this.varint(RAW_EXPONENT);
    this.double(x);
  }

  /** A time in ms as the distance from `referenceMs` (an integer); odd values as the double. */
  time(ms: number, referenceMs: number): void {
    const difference = ms - referenceMs;
    if (!Number.isSafeInteger(ms) || Object.is(ms, -0) || !(Math.abs(difference) < LARGEST_TAGGED)) {
      this.varint(RAW_TIME);
      this.double(ms);
    } else if (ms % 1000 === 0) {
      this.varint(zigzag(ms / 1000 - Math.floor(referenceMs / 1000)) * 4 + WHOLE_SECONDS);
    } else {
      this.varint(zigzag(difference) * 4);
    }
  }

  /** Any string: UTF-8, or UTF-16 where it holds half a surrogate pair, which UTF-8 cannot. */
  text(text: string): void {
    const wellFormed = isWellFormed(text);
    const encoding = wellFormed ? 'utf8' : 'utf16le';
    const length = Buffer.byteLength(text, encoding);
    this.varint(length * 2 + (wellFormed ? 0 : UTF16));
    this.#room(length);
    this.#bytes.write(text, this.#length, encoding);
    this.#length += length;
  }

  #room(size: number): void {
    if (this.#length + size <= this.#bytes.length) return;
    const larger = Buffer.allocUnsafeSlow(Math.max(this.#bytes.length * 2, this.#length + size));
    this.#bytes.copy(larger, 0, 0, this.#length);
    this.#bytes = larger;
  }
}

/** Signed to unsigned, small distances staying small: 0, -1, 1, -2 … become 0, 1, 2, 3 … */
function zigzag(x: number): number {
  return x < 0 ? -x * 2 - 1 : x * 2;
}
