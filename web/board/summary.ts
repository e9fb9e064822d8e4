/** The line above the table: who waits, who does not move, who is silent, what else is not as it should be. */
import type { AlarmView, BoardHead, MonitorView } from '../../shared/protocol/board.ts';
import { isWaiting } from '../feed/alarm-order.ts';
import { isAside } from '../words/alarm-states.ts';
import { ageWords, leftWords, secondsSince, shortTime } from '../words/times.ts';
import { columnFacts } from '../words/values.ts';
import { shownLink } from './row-words.ts';

export type SummaryItem = {
  readonly key: string;
  readonly head: string;
  readonly detail: string;
  /** `null`: nobody is needed. */
  readonly level: 'danger' | 'caution' | null;
};

const RELAY_SILENT_AFTER_S = 30;
/** With no monitor at all, nothing can be said about any. */
const NOBODY = 'no monitor heard yet';

const who = (view: { readonly entrant?: string | undefined; readonly id: string }): string => view.entrant ?? view.id;

function list(names: readonly string[], most = 3): string {
  const shown = names.slice(0, most).join(', ');
  return names.length > most ? `${shown} and ${names.length - most} more` : shown;
}

/** Waiting alarms, by how pressing they are. */
export function waitingItem(alarms: readonly AlarmView[], nowMs: number): SummaryItem {
  const waiting = alarms.filter(isWaiting);
  const count = (priority: AlarmView['priority']) => waiting.filter((alarm) => alarm.priority === priority).length;
  const counts = [
    [count('danger'), 'danger'],
    [count('caution'), 'caution'],
    [count('notice'), 'notice'],
  ] as const;
  if (waiting.length === 0) {
    const answered = alarms.filter((alarm) => !isAside(alarm)).length;
    const detail = answered === 0 ? 'no alarm to answer' : `${answered} answered, still there`;
    return { key: 'waiting', head: '0 wait', detail, level: null };
  }
  const oldest = Math.max(...waiting.map((alarm) => secondsSince(alarm.raisedAt, nowMs)));
  const words = counts.filter(([n]) => n > 0).map(([n, word]) => `${n} ${word}`);
  return {
    key: 'waiting',
    head: `${waiting.length} ${waiting.length === 1 ? 'waits' : 'wait'}`,
    detail: `${words.join(', ')}; longest ${ageWords(oldest)}`,
    level: counts[0][0] > 0 ? 'danger' : counts[1][0] > 0 ? 'caution' : null,
  };
}

/** Who is down, calls for help or lies still, worst first. */
export function motionItem(monitors: readonly MonitorView[], alarms: readonly AlarmView[], nowMs: number): SummaryItem {
  const kinds = new Map<string, AlarmView>();
  for (const alarm of alarms) {
    if (alarm.kind !== 'down' && alarm.kind !== 'help' && alarm.kind !== 'still') continue;
    if (!kinds.has(alarm.monitor)) kinds.set(alarm.monitor, alarm);
  }
  const found = monitors.flatMap((view) => {
    const alarm = kinds.get(view.id);
    const { motion, help, motionSince } = view.status;
    if (help || alarm?.kind === 'help') return [{ view, alarm, word: 'calls for help', rank: 0, since: alarm?.since }];
    if (motion === 'down' || alarm?.kind === 'down')
      return [{ view, alarm, word: 'DOWN', rank: 1, since: alarm?.since ?? motionSince }];
    if (alarm?.kind === 'still') return [{ view, alarm, word: 'still', rank: 2, since: alarm.since }];
    return [];
  });
  found.sort((a, b) => a.rank - b.rank);
  const first = found[0];
  if (!first) {
    const detail = monitors.length === 0 ? NOBODY : 'nobody reported down or still';
    return { key: 'motion', head: '0 still', detail, level: null };
  }
  const age = first.since ? ageWords(secondsSince(first.since, nowMs)) : '';
  const answer = first.alarm === undefined ? '' : isWaiting(first.alarm) ? 'not answered' : 'answered';
  const detail =
    found.length === 1
      ? [age, answer].filter((part) => part !== '').join(', ')
      : `then ${list(
          found.slice(1).map(({ view, word }) => `${who(view)} ${word}`),
          2,
        )}`;
  const level = found.some(({ alarm, rank }) => rank < 2 || alarm?.priority === 'danger') ? 'danger' : 'caution';
  return { key: 'motion', head: `${who(first.view)} ${first.word}`, detail, level };
}

/** Who has not been heard for so long that nothing is known. */
export function silentItem(monitors: readonly MonitorView[], nowMs: number): SummaryItem {
  const lost = monitors.filter((view) => shownLink(view, nowMs) === 'lost');
  if (lost.length === 0) {
    const detail = monitors.length === 0 ? NOBODY : 'every monitor heard lately';
    return { key: 'silent', head: '0 silent', detail, level: null };
  }
  const sorted = [...lost].sort((a, b) => Date.parse(a.lastHeardAt) - Date.parse(b.lastHeardAt));
  const words = sorted.map((view) => `${who(view)} ${ageWords(secondsSince(view.lastHeardAt, nowMs))}`);
  const level = lost.some((view) => view.zone === 'hot') ? 'danger' : 'caution';
  return { key: 'silent', head: `${lost.length} silent`, detail: list(words, 2), level };
}

/**
 * Relays that say nothing or whose clock is off; null where there is nothing to tell. The head comes anew only when
 * something of it changes: a relay was heard when the last of its monitors was.
 */
export function relayItem(
  head: BoardHead,
  nowMs: number,
  monitors: readonly Pick<MonitorView, 'relay' | 'lastHeardAt'>[] = [],
): SummaryItem | null {
  const words: string[] = [];
  for (const relay of head.relays) {
    const heard = monitors.filter((view) => view.relay === relay.name).map((view) => view.lastHeardAt);
    const age = Math.min(...[relay.lastHeardAt, ...heard].map((at) => secondsSince(at, nowMs)));
    if (age > RELAY_SILENT_AFTER_S) {
      words.unshift(`${relay.name} silent ${ageWords(age)}`);
    } else if (relay.clock === 'off') {
      const off = relay.offsetMs === null ? '' : ` ${ageWords(Math.round(Math.abs(relay.offsetMs) / 1000))}`;
      const way = relay.offsetMs === null ? ' off' : relay.offsetMs < 0 ? ' slow' : ' fast';
      words.push(`${relay.name} clock${off}${way}`);
    }
  }
  if (words.length === 0) return null;
  return {
    key: 'relays',
    head: words.length === 1 ? 'Relay' : 'Relays',
    detail: list(words, 2),
    level: 'caution',
  };
}

/**
 * What does not sound although it is evaluated: shelved with when the first comes back, suppressed, out of service.
 * It stays in sight for as long as anything is put aside.
 */
export function asideItem(head: BoardHead, alarms: readonly AlarmView[], nowMs: number): SummaryItem | null {
  const shelved = alarms.flatMap((alarm) => alarm.shelved ?? []);
  const suppressed = alarms.filter((alarm) => alarm.state === 'suppressed').length;
  const out = head.outOfService?.length ?? 0;
  if (shelved.length + suppressed + out === 0) return null;
  const parts: string[] = [];
  const next = shelved.map(({ until }) => until).sort((a, b) => Date.parse(a) - Date.parse(b))[0];
  if (next !== undefined) {
    const first = shelved.length === 1 ? '' : 'the first ';
    parts.push(`${first}until ${shortTime(next, head.journal.zone)}, ${leftWords(next, nowMs)}`);
  }
  if (suppressed > 0) parts.push(`${suppressed} suppressed`);
  if (out > 0) parts.push(`${out} out of service`);
  const name = shelved.length === 0 ? 'Put aside' : `${shelved.length} shelved`;
  return { key: 'aside', head: name, detail: parts.join('; '), level: 'caution' };
}

/** More alarms sound than anybody can answer in turn; null while they do not. */
export function floodItem(head: BoardHead): SummaryItem | null {
  if (head.figures?.flood !== true) return null;
  return { key: 'flood', head: 'Alarm flood', detail: 'more than 10 sounded within 10 min', level: 'caution' };
}

/** Channels whose background is only assumed for at least one monitor. */
function assumedBackgrounds(monitors: readonly MonitorView[]): string[] {
  const names = new Set<string>();
  for (const view of monitors) {
    for (const [channel, cell] of Object.entries(view.readings)) {
      if (cell.background?.assumed) names.add(columnFacts(channel).name);
    }
  }
  return [...names];
}

/** Cautions that stand until somebody does something about them. */
export function standingItems(head: BoardHead, monitors: readonly MonitorView[]): SummaryItem[] {
  const items: SummaryItem[] = [];
  const assumed = assumedBackgrounds(monitors);
  if (assumed.length > 0)
    items.push({
      key: 'background',
      head: 'Background not taken',
      detail: `for ${list(assumed, 3)}`,
      level: 'caution',
    });
  if (!head.setPoints.reviewed)
    items.push({
      key: 'set-points',
      head: 'Set-points not reviewed',
      detail: `yet: ${head.setPoints.name}`,
      level: 'caution',
    });
  if (head.refusedElsewhere > 0)
    items.push({
      key: 'refused',
      head: `${head.refusedElsewhere} not taken`,
      detail: 'packets that name no known monitor, last 10 min',
      level: 'caution',
    });
  return items;
}
