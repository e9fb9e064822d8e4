/** Reads what the byte writer wrote. Throws RangeError on bytes that it cannot have written. */
import { POWERS_OF_TEN, RAW_EXPONENT, RAW_TIME, UTF16, WHOLE_SECONDS } from './byte-format.ts';

export class ByteReader {
  readonly #bytes: Buffer;
  #at = 0;

  constructor(bytes: Buffer) {
    this.#bytes = bytes;
  }

  /** Throws when bytes are left over. */
  end(): void {
    if (this.#at !== this.#bytes.length) throw new RangeError('bytes are left over');
  }

  u8(): number {
    const x = this.#bytes[this.#at++];
    if (x === undefined) throw new RangeError('the bytes end too early');
    return x;
  }

  /** Signed, little-endian. */
  i32(): number {
    const x = this.#bytes.readInt32LE(this.#at);
    this.#at += 4;
    return x;
  }

  varint(): number {
    const first = this.u8();
    if (first < 128) return first;
    let x = first & 127;
    let scale = 128;
    for (let count = 1; count < 8; count++) {
      const byte = this.u8();
      x += (byte & 127) * scale;
      if (byte < 128) return x;
      scale *= 128;
    }
    throw new RangeError('a number is too long');
  }

  double(): number {
    const x = this.#bytes.readDoubleLE(this.#at);
    this.#at += 8;
    return x;
  }

  number(): number {
    const tagged = this.varint();
    const exponent = tagged % 8;
    if (exponent === RAW_EXPONENT) return this.double();
    const mantissa = unzigzag(Math.floor(tagged / 8));
    return exponent === 0 ? mantissa : mantissa / (POWERS_OF_TEN[exponent] ?? 1);
  }

  time(referenceMs: number): number {
    const tagged = this.varint();
    const tag = tagged % 4;
    if (tag === RAW_TIME) return this.double();
    const difference = unzigzag(Math.floor(tagged / 4));
    return tag === WHOLE_SECONDS ? (Math.floor(referenceMs / 1000) + difference) * 1000 : referenceMs + difference;
  }

  text(): string {
    const tagged = this.varint();
    const length = Math.floor(tagged / 2);
    const from = this.#at;
    this.#at += length;
    if (this.#at > this.#bytes.length) throw new RangeError('the bytes end too early');
    return this.#bytes.toString(tagged % 2 === UTF16 ? 'utf16le' : 'utf8', from, this.#at);
  }
}

function unzigzag(x: number): number {
  return x % 2 === 0 ? x / 2 : -(x + 1) / 2;
}
