/**
 * A run of samples sealed into bytes: first its totals, so that a query that spans the run need not read it, then
 * its last sample, then all samples as differences (about two bytes each).
 */
import { decompose, fromDecimal, item, scaled } from './decimal.ts';
import {
  createWriter,
  type Reader,
  readSigned,
  readUnsigned,
  takeBytes,
  unzigzag,
  type Writer,
  writeSigned,
  writeUnsigned,
  zigzag,
} from './packed.ts';
import { sealPlainRun } from './plain-run.ts';
import { readRow, writeRow } from './row-codec.ts';
import { createSamples, isNumber, readSample, type Sample, type Samples } from './samples.ts';
import { addSegment, forEachSegment, type Row } from './tally.ts';

/** What a coder carries from sample to sample. */
type Running = { at: number; step: number; code: number; hold: number; decimals: number; whole: number };

/** A missing or over-range sample has no number: nothing may look like one. */
const NO_NUMBER = 0;

const writer = createWriter();

/** Seals samples [first, last) of a list; at least one. */
export function sealChunk(samples: Samples, first: number, last: number): Uint8Array {
  return sealPlainRun(writer, samples, first, last) ?? sealAnyRun(samples, first, last);
}

/** The same for runs that change unit, hold or kind, or that have many digits. */
function sealAnyRun(samples: Samples, first: number, last: number): Uint8Array {
  const part: Samples = {
    at: samples.at.slice(first, last),
    value: samples.value.slice(first, last),
    code: samples.code.slice(first, last),
    hold: samples.hold.slice(first, last),
  };
  const count = part.at.length;
  const rows: Row[] = [];
  forEachSegment(part, 0, (segment) => addSegment(rows, segment, -Infinity, Infinity));
  const final = readSample(part, count - 1);
  writer.length = 0;
  writeUnsigned(writer, rows.length);
  for (const row of rows) writeRow(writer, row, 0);
  writeSample(writer, { ...final, at: 0 }, startAt(0));
  writeUnsigned(writer, count);
  const running = startAt(item(part.at, 0));
  for (let index = 0; index < count; index += 1) writeSample(writer, readSample(part, index), running);
  return takeBytes(writer);
}

/** The totals over the segments between the samples of a chunk; its last sample is not in them. */
export function chunkTotals(bytes: Uint8Array): Row[] {
  return totalsFrom({ bytes, offset: 0 });
}

/** The last sample of a chunk that ends at `lastAt`. */
export function chunkLast(bytes: Uint8Array, lastAt: number): Sample {
  const reader = { bytes, offset: 0 };
  totalsFrom(reader);
  return { ...readNext(reader, startAt(0)), at: lastAt };
}

/** The first sample of a chunk that starts at `firstAt`. */
export function chunkFirst(bytes: Uint8Array, firstAt: number): Sample {
  const reader = { bytes, offset: 0 };
  skipHead(reader);
  return readNext(reader, startAt(firstAt));
}

/** All samples of a chunk that starts at `firstAt`. */
export function openChunk(bytes: Uint8Array, firstAt: number): Samples {
  const reader = { bytes, offset: 0 };
  const count = skipHead(reader);
  const samples = createSamples();
  const running = startAt(firstAt);
  for (let index = 0; index < count; index += 1) {
    const sample = readNext(reader, running);
    samples.at.push(sample.at);
    samples.value.push(sample.value);
    samples.code.push(sample.code);
    samples.hold.push(sample.hold);
  }
  return samples;
}

function startAt(at: number): Running {
  return { at, step: 0, code: 0, hold: 0, decimals: 0, whole: 0 };
}

function totalsFrom(reader: Reader): Row[] {
  return Array.from({ length: readUnsigned(reader) }, () => readRow(reader, 0));
}

function skipHead(reader: Reader): number {
  totalsFrom(reader);
  readNext(reader, startAt(0));
  return readUnsigned(reader);
}

function writeSample(into: Writer, sample: Sample, running: Running): void {
  const step = sample.at - running.at;
  writeSigned(into, step - running.step);
  running.step = step;
  running.at = sample.at;
  const number = isNumber(sample.code);
  const whole = number && running.decimals >= 0 ? scaled(sample.value, running.decimals) : Number.NaN;
  if (sample.code === running.code && sample.hold === running.hold && !(number && Number.isNaN(whole))) {
    writeUnsigned(into, number ? 2 * zigzag(whole - running.whole) : 0);
    if (number) running.whole = whole;
    return;
  }
  writeUnsigned(into, 1 + 2 * sample.code);
  writeUnsigned(into, sample.hold);
  running.code = sample.code;
  running.hold = sample.hold;
  if (!number) return;
  if (Number.isNaN(whole)) {
    const { mantissa, exponent } = decompose(sample.value);
    running.decimals = -exponent;
    running.whole = mantissa;
  } else {
    running.whole = whole;
  }
  writeSigned(into, running.decimals);
  writeSigned(into, running.whole);
}

function readNext(reader: Reader, running: Running): Sample {
  running.step += readSigned(reader);
  running.at += running.step;
  const head = readUnsigned(reader);
  if (head % 2 === 0) {
    running.whole += unzigzag(head / 2);
  } else {
    running.code = (head - 1) / 2;
    running.hold = readUnsigned(reader);
    if (isNumber(running.code)) {
      running.decimals = readSigned(reader);
      running.whole = readSigned(reader);
    }
  }
  const value = isNumber(running.code) ? fromDecimal(running.whole, -running.decimals) : NO_NUMBER;
  return { at: running.at, value, code: running.code, hold: running.hold };
}
