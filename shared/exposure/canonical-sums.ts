/** Sums of one person in the channel's canonical unit, over all the monitors that were worn. */
import { toCanonical } from '../quantity/canonical.ts';
import { isUnit } from '../quantity/channels.ts';
import { findChannel, LATE_HORIZON_MS } from './series.ts';
import { addSpan } from './standing.ts';
import { addToRow, type Row, rowOf } from './tally.ts';
import type { SeriesOf, WornSpan } from './wearing.ts';

/** A unit, and by which power of ten a value is brought to it. */
export type UnitStep = { readonly unit: string; readonly power: number; readonly canonical: boolean };

/** Sums by unit: the unit at index n belongs to the rows with `unit` n. */
export type UnitRows = { readonly units: string[]; readonly rows: Row[] };

const steps = new Map<string, UnitStep>();

/**
 * How a unit of a channel is brought to the canonical one. A unit that cannot be (mg/m³ needs a molar mass) keeps
 * itself with `canonical: false`: its sums stand apart and are never added to others.
 */
export function unitStep(channel: string, unit: string): UnitStep {
  const key = `${channel} ${unit}`;
  const known = steps.get(key);
  if (known !== undefined) return known;
  const one = isUnit(unit) ? toCanonical(channel, 1, unit) : null;
  const step: UnitStep =
    one === null
      ? { unit, power: 0, canonical: false }
      : { unit: one.unit, power: Math.round(Math.log10(one.value)), canonical: true };
  if (steps.size < MOST_STEPS) steps.set(key, step);
  return step;
}

const MOST_STEPS = 1000;

/** Adds the sums of one channel over the spans worn. */
export function addWorn(into: UnitRows, seriesOf: SeriesOf, channel: string, spans: readonly WornSpan[]): void {
  for (const { monitor, fromMs, toMs } of spans) {
    const series = seriesOf(monitor);
    const found = series === undefined ? undefined : findChannel(series, channel);
    if (series === undefined || found === undefined) continue;
    const rows: Row[] = [];
    addSpan(rows, found, fromMs, toMs, series.newest - LATE_HORIZON_MS);
    for (const row of rows) addCanonical(into, channel, found.units[row.unit] ?? '', row);
  }
}

/** Adds a row of one unit as sent. The shift of the decimal point is exact. */
export function addCanonical(into: UnitRows, channel: string, unit: string, row: Row): void {
  const step = unitStep(channel, unit);
  let index = into.units.indexOf(step.unit);
  if (index < 0) index = into.units.push(step.unit) - 1;
  addToRow(rowOf(into.rows, index), row, step.power);
}
