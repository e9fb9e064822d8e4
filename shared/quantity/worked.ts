/**
 * What every calculation of this folder gives back: the answer together with how it came about, so that a page can
 * show formula, numbers and source beside it; or why there is none, as a value with a code.
 */

/**
 * How sure a source is. seen: read in it; seen-copy: read in somebody else's copy of it; calc: plain arithmetic or
 * physics; memory: written from memory, verify before it is relied on; common practice: no source.
 */
export type SourceTag = 'seen' | 'seen-copy' | 'calc' | 'memory' | 'common practice';

export type Input = { readonly name: string; readonly value: number; readonly unit: string };

type Working = {
  readonly ok: true;
  /** In words, with the names of `inputs`. */
  readonly formula: string;
  readonly inputs: readonly Input[];
  readonly source: string;
  readonly sourceTag: SourceTag;
  /** What the answer does not say, each a sentence. */
  readonly cautions: readonly string[];
};

/** How far an answer may be written out. Nothing compares what is rounded. */
export type Rounding = {
  readonly figures: number;
  /** up or down where only one of them is on the safe side. */
  readonly towards: 'nearest' | 'up' | 'down';
};

/** A number as the answer. `estimate`: it rests on an assumption that the cautions name, and is written with "about". */
export type Worked = Working & {
  readonly value: number;
  readonly unit: string;
  readonly estimate: boolean;
  readonly rounding: Rounding;
};

/** An answer that is no number. `code` is for programs, `words` for people. */
export type Spoken = Working & { readonly value: null; readonly code: string; readonly words: string };

export type RefusalCode =
  /** Not a finite number. */
  | 'not-a-number'
  /** Outside the range that the message names. */
  | 'out-of-range'
  /** Something that this conversion needs was not given. */
  | 'missing'
  /** Each input is possible, all of them together are not. */
  | 'inconsistent'
  /** Two units that measure different things, such as a dose and a dose rate. */
  | 'different-quantity';

export type Refusal = { readonly ok: false; readonly code: RefusalCode; readonly message: string };

export type Answer = Worked | Refusal;

type Given = Pick<Worked, 'value' | 'unit' | 'formula' | 'inputs' | 'source' | 'sourceTag'> &
  Partial<Pick<Worked, 'cautions' | 'estimate' | 'rounding'>>;

/** An answer with the usual rounding of four figures, exact in kind and without a caution unless they are given. */
export function worked(given: Given): Worked {
  return { ok: true, cautions: [], estimate: false, rounding: { figures: 4, towards: 'nearest' }, ...given };
}

export function refuse(code: RefusalCode, message: string): Refusal {
  return { ok: false, code, message };
}

type Range = {
  /** Lowest value; itself allowed unless `above`. */
  readonly from: number;
  readonly to: number;
  readonly above?: boolean;
};

/** Null where `input` lies in the range; else a refusal that names the range. */
export function outOfRange({ name, value, unit }: Input, { from, to, above = false }: Range): Refusal | null {
  if (!Number.isFinite(value)) return refuse('not-a-number', `${name} is not a number.`);
  if (value > to || value < from || (above && value === from)) {
    const low = above ? `more than ${plain(from)}` : `from ${plain(from)}`;
    return refuse('out-of-range', `${name} must be ${low} to ${plain(to)} ${unit}.`);
  }
  return null;
}

/** The first refusal of several checks. */
export function firstRefusal(...checks: readonly (Refusal | null)[]): Refusal | null {
  return checks.find((check) => check !== null) ?? null;
}

/** A range's end as people write it. */
function plain(value: number): string {
  return String(value)
    .replace(/^-/, '−')
    .replace(/\B(?=(\d{3})+$)/g, ',');
}
