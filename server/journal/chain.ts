/**
 * The hash chain of a journal. A seal is SHA-256 over the seal before it and everything that its commit wrote, in
 * the byte layout below (also in docs/decisions/0002-journal-file.md, so that anybody can recompute it).
 */
import { createHash } from 'node:crypto';
import type { ByteWriter } from './byte-writer.ts';

export const SEAL_BYTES = 32;
const BEGINNING = 'upwind journal 1\n';
const SOURCE = 1;
const WORD = 2;
const RECORD = 3;
const HAS_SOURCE = 1;
const HAS_SEQ = 2;
const HAS_MEASURED = 4;
const NOTHING = 0;
const TEXT = 1;
const BLOB = 2;

/** The hash of an empty file. */
export function firstSeal(epoch: string): Buffer {
  return createHash('sha256').update(BEGINNING).update(epoch, 'utf8').digest();
}

/** A value of a name's column: a text, bytes, or none. */
export type NameCell = string | Buffer | null;

export type RecordColumns = {
  readonly cursor: number;
  /** Post time, µs (not the distance from the file's base that the row holds). */
  readonly at: number;
  readonly kind: number;
  readonly source: number | null;
  readonly seq: number | null;
  /** Post time, µs. */
  readonly measured: number | null;
};

/** Begins the bytes of a commit: the seal before it. */
export function beginCommit(out: ByteWriter, before: Uint8Array): void {
  out.reset();
  out.raw(before);
}

/** Begins a record; its body is to follow, then endRecord. Returns where the body begins. */
export function beginRecord(out: ByteWriter, row: RecordColumns): number {
  out.u8(RECORD);
  out.u8(
    (row.source === null ? 0 : HAS_SOURCE) |
      (row.seq === null ? 0 : HAS_SEQ) |
      (row.measured === null ? 0 : HAS_MEASURED),
  );
  out.i64(row.cursor);
  out.i64(row.at);
  out.u8(row.kind);
  if (row.source !== null) out.u32(row.source);
  if (row.seq !== null) out.i64(row.seq);
  if (row.measured !== null) out.i64(row.measured);
  out.u32(0);
  return out.length;
}

/** Ends the record whose body begins at `bodyFrom`. */
export function endRecord(out: ByteWriter, bodyFrom: number): void {
  out.setU32(bodyFrom - 4, out.length - bodyFrom);
}

/** Writes a new row of the sources. They follow the commit's records, by rising id. */
export function addSource(out: ByteWriter, id: number, monitor: NameCell, via: NameCell, boot: NameCell): void {
  out.u8(SOURCE);
  out.u32(id);
  addCell(out, monitor);
  addCell(out, via);
  addCell(out, boot);
}

/** Writes a new row of the words. They follow the sources, by rising id. */
export function addWord(out: ByteWriter, id: number, text: NameCell): void {
  out.u8(WORD);
  out.u32(id);
  addCell(out, text);
}

function addCell(out: ByteWriter, cell: NameCell): void {
  if (cell === null) {
    out.u8(NOTHING);
    return;
  }
  const bytes = typeof cell === 'string' ? Buffer.from(cell, 'utf8') : cell;
  out.u8(typeof cell === 'string' ? TEXT : BLOB);
  out.u32(bytes.length);
  out.raw(bytes);
}

/** The seal of the commit whose bytes were written. */
export function sealOf(out: ByteWriter): Buffer {
  return createHash('sha256').update(out.view()).digest();
}
