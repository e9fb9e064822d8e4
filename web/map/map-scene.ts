/**
 * What the map shows of each monitor, in words and shapes, before anything is drawn: the list beside the map and
 * the canvas are made from the same marks, so that neither knows more than the other.
 */

import type { Priority } from '../../shared/alarm/set-point.ts';
import type { AlarmView, Cell, MonitorView } from '../../shared/protocol/board.ts';
import { counts } from '../board/alarms-at.ts';
import { lastKnownWords, shownLink } from '../board/row-words.ts';
import { stateMark } from '../words/alarm-states.ts';
import { ageWords, secondsSince } from '../words/times.ts';
import { columnFacts } from '../words/values.ts';
import { readingWords } from './reading-words.ts';

export type MapMark = {
  readonly id: string;
  /** Call sign, or the monitor's id while nobody carries it. */
  readonly name: string;
  /** Worst alarm that stands, also when the link is gone; null: none. */
  readonly priority: Priority | null;
  readonly link: MonitorView['link'];
  /** What stands in the way first, for instance "oxygen 18.9 %vol" or "down". */
  readonly worst: string;
  /** The same as short as a label needs it. */
  readonly worstShort: string;
  /** Why a number in `worst` is not good; empty when it is. */
  readonly doubt: string;
  /** Once the monitor is stale or lost: "48 s old", and "no alarm when last heard, 48 s ago; unknown now". */
  readonly silence: { readonly short: string; readonly words: string } | null;
  readonly place: MapPlace | null;
};
export type MapPlace = {
  readonly lat: number;
  readonly lon: number;
  readonly accuracyM: number | null;
  /** "position 48 s old" once it is older than a live one can be. */
  readonly age: string | null;
  readonly track: readonly (readonly [lat: number, lon: number])[];
};

const KIND_WORDS = {
  down: 'down',
  help: 'calls for help',
  still: 'still',
  silent: 'silent',
  'not-watched': 'not watched',
  'relay-lost': 'relay lost',
  exposure: 'exposure',
} as const;
const STALE_AT_LEAST_S = 10;
/**
 * Before a number on a label, where its unit alone could be two gases: the formula, as it stands on instruments.
 * Oxygen, combustible gas and gamma are the only channels with their unit.
 */
const ON_LABEL: Readonly<Record<string, string>> = { o2: '', lel: '', gamma: '', co: 'CO', h2s: 'H2S', voc: 'VOC' };

/** The mark of one monitor. `alarms` are its own, in the order in which they wait for an answer. */
export function mapMark(view: MonitorView, alarms: readonly AlarmView[], nowMs: number): MapMark {
  const worst = worstWords(view, alarms);
  const link = shownLink(view, nowMs);
  return {
    id: view.id,
    name: view.entrant ?? view.id,
    priority: worst.priority,
    link,
    worst: worst.words,
    worstShort: worst.short,
    doubt: worst.doubt,
    silence:
      link === 'live'
        ? null
        : {
            short: `${ageWords(secondsSince(view.lastHeardAt, nowMs))} old`,
            words: `${lastKnownWords(view, alarms)}, ${ageWords(secondsSince(view.lastHeardAt, nowMs))} ago; unknown now`,
          },
    place: place(view, nowMs),
  };
}

function place(view: MonitorView, nowMs: number): MapPlace | null {
  if (!view.position) return null;
  const { lat, lon, accuracy, at } = view.position;
  const age = secondsSince(at, nowMs);
  // Where the monitor does not say how often it reports, the shortest stale time holds.
  const staleS = Math.max(STALE_AT_LEAST_S, (3 * (view.status.intervalMs ?? 1000)) / 1000);
  return {
    lat,
    lon,
    accuracyM: accuracy ?? null,
    age: age > staleS ? `position ${ageWords(age)} old` : null,
    track: view.track ?? [],
  };
}

type Worst = { priority: Priority | null; words: string; short: string; doubt: string };

function worstWords(view: MonitorView, alarms: readonly AlarmView[]): Worst {
  const [alarm] = [...alarms].sort((a, b) => counts(a) - counts(b));
  const [channel, cell] = closest(view.readings) ?? [];
  // A reading can be past a level before its alarm is here: the worse of the two is shown.
  if (channel !== undefined && cell?.level != null) {
    if (!alarm || LEVEL_RANK[cell.level] < LEVEL_RANK[alarm.priority]) return cellWords(channel, cell, cell.level);
  }
  if (alarm) return alarmWords(view, alarm);
  const unwatched = view.notWatched[0];
  if (unwatched !== undefined) return { priority: null, words: unwatched, short: unwatched, doubt: '' };
  if (channel === undefined || !cell) {
    return { priority: null, words: 'no reading yet', short: 'no reading yet', doubt: '' };
  }
  return cellWords(channel, cell, null);
}

/** The reading that an alarm is about, as it is now; the alarm's own words where there is none. */
function alarmWords(view: MonitorView, alarm: AlarmView): Worst {
  const { priority } = alarm;
  const rest = STATE_SHORT[stateMark(alarm) ?? 'waits'];
  const said = (words: string) => ({ priority, words: `${words}${rest}`, short: `${words}${rest}`, doubt: '' });
  if (alarm.kind !== 'level' && alarm.kind !== 'over-range') return said(KIND_WORDS[alarm.kind]);
  const cell = alarm.sensor === undefined ? undefined : view.readings[alarm.sensor];
  if (alarm.sensor === undefined || !cell) return said(alarm.words);
  const now = cellWords(alarm.sensor, cell, priority);
  const stands = alarm.state === 'unacknowledged' || alarm.state === 'acknowledged';
  if (stands || cell.level !== null) return { ...now, words: `${now.words}${rest}`, short: `${now.short}${rest}` };
  // Back within the level: without a word, an ordinary number beside the sign of danger would look like a mistake.
  return { ...now, words: `${alarm.words}; now ${now.short}${rest}`, short: `${now.short}${rest}` };
}

const STATE_SHORT = {
  waits: '',
  escalated: ', escalated',
  answered: ', answered',
  returned: ', unanswered',
  held: ', held until reset',
  shelved: ', shelved',
  suppressed: ', suppressed',
  'out-of-service': ', out of service',
} as const;

function cellWords(channel: string, cell: Cell, priority: Priority | null): Worst {
  const reading = readingWords(channel, cell);
  const words = `${columnFacts(channel).name} ${reading}`;
  const doubt = cell.standing === 'good' ? '' : cell.reasons.map((reason) => reason.words).join('; ');
  const name = ON_LABEL[channel] ?? columnFacts(channel).name;
  // Where there is no number, the words for that are the doubt already.
  const number = `${name} ${reading}${doubt === '' ? '' : ', doubtful'}`.trim();
  const short = cell.value === null ? words : number;
  return { priority, words, short, doubt };
}

const LEVEL_RANK: Readonly<Record<Priority, number>> = { danger: 0, caution: 1, notice: 2 };

/** The reading at the worst level, then the one with the least headroom left. */
function closest(readings: MonitorView['readings']): [string, Cell] | undefined {
  const rank = (cell: Cell) => (cell.level === null ? 3 : LEVEL_RANK[cell.level]);
  // Without a number there is no headroom: such a cell comes after those that have one.
  const room = (cell: Cell) => cell.headroom ?? 2;
  return Object.entries(readings).sort(([, a], [, b]) => rank(a) - rank(b) || room(a) - room(b))[0];
}

/** The same marks while the post is not heard: where each was, what alarm stood, and no value as if it were so now. */
export function coveredMarks(marks: readonly MapMark[]): MapMark[] {
  return marks.map((mark) => ({
    ...mark,
    link: 'lost',
    worst: `${mark.priority ?? 'no alarm'} when last heard; not known now`,
    worstShort: 'not known now',
    doubt: '',
    silence: null,
  }));
}

/** Marks in the order of the list: danger, caution, notice, silent, the rest by name. */
export function inMapOrder(marks: readonly MapMark[]): MapMark[] {
  const rank = (mark: MapMark) => (mark.priority === null ? (mark.link === 'live' ? 4 : 3) : LEVEL_RANK[mark.priority]);
  return [...marks].sort(
    (a, b) => rank(a) - rank(b) || a.name.localeCompare(b.name, 'en', { numeric: true }) || (a.id < b.id ? -1 : 1),
  );
}

/** Places to fit a view around: all of them, or those near the middle one when a wild position would hide the rest. */
export function placesToFit(marks: readonly MapMark[]): MapPlace[] {
  const places = marks.flatMap((mark) => (mark.place ? [mark.place] : []));
  const lat = median(places.map((one) => one.lat));
  const lon = median(places.map((one) => one.lon));
  if (lat === null || lon === null) return places;
  return places.filter((one) => Math.abs(one.lat - lat) < NEAR_DEGREES && Math.abs(one.lon - lon) < NEAR_DEGREES);
}

/** About 28 km of latitude; an incident is smaller. */
const NEAR_DEGREES = 0.25;

function median(values: number[]): number | null {
  return values.sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? null;
}
