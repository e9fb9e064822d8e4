/**
 * Whole numbers in as few bytes as they need: seven bits a byte, least significant first, the top bit set on all
 * but the last; signed ones folded so that small ones of either sign are short.
 */
export type Writer = { bytes: Uint8Array; length: number };
export type Reader = { readonly bytes: Uint8Array; offset: number };

export function createWriter(): Writer {
  return { bytes: new Uint8Array(1024), length: 0 };
}

/** The bytes written so far in an array of their own, and the writer empty again. */
export function takeBytes(writer: Writer): Uint8Array {
  const bytes = writer.bytes.slice(0, writer.length);
  writer.length = 0;
  return bytes;
}

/** Writes a whole number from 0: a safe integer or a bigint of any size. */
export function writeUnsigned(writer: Writer, value: number | bigint): void {
  let rest = value;
  if (typeof rest === 'bigint') {
    for (; rest >= 128n; rest >>= 7n) writeByte(writer, Number(rest & 127n) + 128);
    writeByte(writer, Number(rest));
    return;
  }
  for (; rest >= 128; rest = Math.floor(rest / 128)) writeByte(writer, (rest % 128) + 128);
  writeByte(writer, rest);
}

/** Writes a whole number of either sign; a plain number must be under 2^52. */
export function writeSigned(writer: Writer, value: number | bigint): void {
  if (typeof value === 'bigint') writeUnsigned(writer, value < 0n ? -2n * value - 1n : 2n * value);
  else writeUnsigned(writer, zigzag(value));
}

/** A whole number of either sign (under 2^52) as one from 0. */
export function zigzag(value: number): number {
  return value < 0 ? -2 * value - 1 : 2 * value;
}

/** The way back from `zigzag`. */
export function unzigzag(code: number): number {
  return code % 2 === 0 ? code / 2 : -(code + 1) / 2;
}

/** Reads a whole number from 0 that is known to be a safe integer. */
export function readUnsigned(reader: Reader): number {
  let byte = byteAt(reader.bytes, reader.offset++);
  let value = byte % 128;
  for (let scale = 128; byte >= 128; scale *= 128) {
    byte = byteAt(reader.bytes, reader.offset++);
    value += (byte % 128) * scale;
  }
  return value;
}

/** Reads a whole number of either sign that is known to be under 2^52. */
export function readSigned(reader: Reader): number {
  return unzigzag(readUnsigned(reader));
}

/** Reads a whole number from 0 of any size; a bigint only where a number would not be exact. */
export function readUnsignedAny(reader: Reader): number | bigint {
  const start = reader.offset;
  const value = readUnsigned(reader);
  if (value <= Number.MAX_SAFE_INTEGER) return value;
  let exact = 0n;
  for (let index = reader.offset - 1; index >= start; index -= 1) {
    exact = (exact << 7n) + BigInt(byteAt(reader.bytes, index) % 128);
  }
  return exact;
}

/** Reads a whole number of either sign and any size. */
export function readSignedAny(reader: Reader): number | bigint {
  const code = readUnsignedAny(reader);
  if (typeof code === 'number') return unzigzag(code);
  return code % 2n === 0n ? code / 2n : -(code + 1n) / 2n;
}

function byteAt(bytes: Uint8Array, index: number): number {
  const byte = bytes[index];
  if (byte === undefined) throw new RangeError('the bytes end too soon: the data was damaged');
  return byte;
}

function writeByte(writer: Writer, byte: number): void {
  if (writer.length === writer.bytes.length) {
    const larger = new Uint8Array(writer.bytes.length * 2);
    larger.set(writer.bytes);
    writer.bytes = larger;
  }
  writer.bytes[writer.length++] = byte;
}
