/**
 * The minutes until a person must start back: the first of everything that limits the stay, with the way out,
 * decontamination and a reserve taken off. An estimate, which says what it is made from, how old that is, and what it
 * could not take into account. Another limit, or a worse one, never makes it longer.
 */

/** In the order in which equal ones are named. */
export const LIMIT_KINDS = ['air', 'dose', 'stel', 'twa', 'mixture', 'work-time'] as const;
export type LimitKind = (typeof LIMIT_KINDS)[number];

/** What must still be left at the limit when the person starts back. */
export const WAY_BACK_PARTS = ['way-out', 'decontamination', 'reserve'] as const;
export type WayBackPart = (typeof WAY_BACK_PARTS)[number];

/** Minutes a part takes; null: nobody said. Below 0 counts as 0. */
export type WayBack = Readonly<Record<WayBackPart, number | null>>;

export type Certainty =
  /** From an instrument, with nothing assumed but that it goes on like this. */
  | 'measured'
  /** Told by a person. */
  | 'reported'
  /** With an assumption in it, such as a rate of breathing. */
  | 'estimated';

export type TimeLimit = {
  readonly kind: LimitKind;
  /** What it is of, where there are several of a kind: a channel. */
  readonly of?: string;
  /**
   * Minutes to the limit as it was `ageMs` ago; `not-limiting` where it is known and will not be reached; null where it
   * is not known, and then `reason` says why.
   */
  readonly minutes: number | 'not-limiting' | null;
  readonly reason?: string;
  /** How old what it was worked out from is, ms; the time since has been used up. Null, or no number: counts as all used up. */
  readonly ageMs: number | null;
  readonly certainty: Certainty;
  /** What it was worked out from, in words: "pressure by radio". */
  readonly from: string;
  /** Parts of the way back that `minutes` leaves room for already. */
  readonly alreadyOff: readonly WayBackPart[];
};

export type NotTold = {
  /** A limit, a part of the way back, or the age of a limit. */
  readonly what: LimitKind | WayBackPart | 'age';
  readonly of: string | null;
  readonly words: string;
};

export type TimeLeft = {
  /**
   * Never negative and not rounded; an upper bound while `unknown` is not empty. Null where nothing is known that limits
   * the stay; `words` then says which it is.
   */
  readonly minutes: number | null;
  readonly governs: { readonly kind: LimitKind; readonly of: string | null } | null;
  /** "leave in 9 min", rounded down; "LEAVE NOW" at 0. */
  readonly words: string;
  /** What the figure rests on; null without one. */
  readonly estimate: { readonly from: string; readonly certainty: Certainty; readonly ageMs: number | null } | null;
  readonly unknown: readonly NotTold[];
};

const LIMIT_WORDS: Readonly<Record<LimitKind, string>> = {
  air: 'air',
  dose: 'dose',
  stel: '15-minute average',
  twa: '8-hour average',
  mixture: 'mixture',
  'work-time': 'work time',
};
const PART_WORDS: Readonly<Record<WayBackPart, string>> = {
  'way-out': 'way out',
  decontamination: 'decontamination',
  reserve: 'reserve',
};
const MINUTE_MS = 60_000;

/** The time left of one person. The order of `limits` changes nothing. Source: common practice, no source; arithmetic. */
export function timeLeft(limits: readonly TimeLimit[], wayBack: WayBack): TimeLeft {
  const ordered = [...limits].sort(byKind);
  const unknown: NotTold[] = [];
  const missing = new Set<WayBackPart>();
  let governing: { limit: TimeLimit; minutes: number } | null = null;
  for (const limit of ordered) {
    if (limit.minutes === null || Number.isNaN(limit.minutes)) {
      unknown.push(notTold(limit, limit.reason));
      continue;
    }
    if (limit.minutes === 'not-limiting' || limit.minutes === Number.POSITIVE_INFINITY) continue;
    if (!isAge(limit.ageMs)) unknown.push({ what: 'age', of: limit.kind, words: `how old ${named(limit)} is` });
    for (const part of WAY_BACK_PARTS) {
      if (!limit.alreadyOff.includes(part) && !isMinutes(wayBack[part])) missing.add(part);
    }
    const minutes = untilBack(limit, limit.minutes, wayBack);
    if (governing === null || minutes < governing.minutes) governing = { limit, minutes };
  }
  for (const part of WAY_BACK_PARTS) {
    if (missing.has(part)) unknown.push({ what: part, of: null, words: `${PART_WORDS[part]} not known` });
  }
  if (governing === null) {
    return { minutes: null, governs: null, words: wordsWithout(ordered, unknown), estimate: null, unknown };
  }
  const { limit, minutes } = governing;
  return {
    minutes,
    governs: { kind: limit.kind, of: limit.of ?? null },
    words: leaveWords(minutes, unknown),
    estimate: { from: limit.from, certainty: limit.certainty, ageMs: isAge(limit.ageMs) ? limit.ageMs : null },
    unknown,
  };
}

/** Minutes until the way back must begin for this limit. */
function untilBack(limit: TimeLimit, minutes: number, wayBack: WayBack): number {
  if (!isAge(limit.ageMs)) return 0;
  let left = minutes - Math.max(0, limit.ageMs) / MINUTE_MS;
  for (const part of WAY_BACK_PARTS) {
    const takes = wayBack[part];
    if (!limit.alreadyOff.includes(part) && isMinutes(takes)) left -= Math.max(0, takes);
  }
  return Math.max(0, left);
}

/** Rounded down: a minute that has not passed is not promised. */
function leaveWords(minutes: number, unknown: readonly NotTold[]): string {
  if (minutes === 0) return 'LEAVE NOW';
  const time = minutes < 1 ? 'less than 1 min' : `${Math.floor(minutes)} min`;
  return unknown.length === 0 ? `leave in ${time}` : `leave in ${time} at most: ${listed(unknown)}`;
}

function wordsWithout(limits: readonly TimeLimit[], unknown: readonly NotTold[]): string {
  if (unknown.length > 0) return listed(unknown);
  return limits.length === 0 ? 'time left unknown' : 'nothing known limits the stay';
}

function listed(unknown: readonly NotTold[]): string {
  return unknown.map(({ words }) => words).join(', ');
}

function notTold(limit: TimeLimit, reason: string | undefined): NotTold {
  const words = `${named(limit)} unknown`;
  return { what: limit.kind, of: limit.of ?? null, words: reason === undefined ? words : `${words} (${reason})` };
}

function named({ kind, of }: TimeLimit): string {
  return of === undefined ? LIMIT_WORDS[kind] : `${LIMIT_WORDS[kind]} of ${of}`;
}

function isAge(ageMs: number | null): ageMs is number {
  return ageMs !== null && Number.isFinite(ageMs);
}

function isMinutes(minutes: number | null): minutes is number {
  return minutes !== null && Number.isFinite(minutes);
}

function byKind(a: TimeLimit, b: TimeLimit): number {
  const rank = LIMIT_KINDS.indexOf(a.kind) - LIMIT_KINDS.indexOf(b.kind);
  if (rank !== 0) return rank;
  const [first, second] = [a.of ?? '', b.of ?? ''];
  return first === second ? 0 : first < second ? -1 : 1;
}
