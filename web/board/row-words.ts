/** What a row says beside its cells, decided apart from how it looks. */
import type { AlarmView, Cell, Link, MonitorView } from '../../shared/protocol/board.ts';
import { secondsSince, shortTime } from '../words/times.ts';
import { placeWords } from './place-words.ts';

const LOW_BATTERY = 20;
const WEAK_LINK = 25;
const STALE_AFTER_MS = 10_000;
const LOST_AFTER_MS = 30_000;

/**
 * How old the row is, by the post's word or by the page's own count, whichever is worse: a row that nobody has sent
 * anew must not look fresh because its last word was "live". Limits: 10 s or three intervals; three times that, at
 * least 30 s.
 */
export function shownLink(view: MonitorView, nowMs: number): Link {
  const silentMs = secondsSince(view.lastHeardAt, nowMs) * 1000;
  const staleMs = Math.max(STALE_AFTER_MS, 3 * (view.status.intervalMs ?? 0));
  const own: Link = silentMs > Math.max(LOST_AFTER_MS, 3 * staleMs) ? 'lost' : silentMs > staleMs ? 'stale' : 'live';
  const worst: readonly Link[] = ['lost', 'stale', 'live'];
  return worst.find((link) => link === own || link === view.link) ?? 'lost';
}

/** "no alarm when last heard": the strongest thing that was known, without its opposite being promised. */
export function lastKnownWords(view: Pick<MonitorView, 'id'>, alarms: readonly AlarmView[]): string {
  const mine = alarms.filter((alarm) => alarm.monitor === view.id && alarm.kind !== 'silent');
  const worst = mine[0]; // they come danger first
  if (worst) return `${worst.priority} when last heard`;
  return 'no alarm when last heard';
}

/** Gas columns side by side that a radiation-only monitor leaves without numbers, so that one sentence can cover them. */
export function coveredByMode(view: MonitorView, columns: readonly string[]): readonly string[] {
  if (view.status.mode !== 'radiation-only') return [];
  const run: string[] = [];
  for (const channel of columns) {
    if (channel === 'gamma') break;
    const reading: Cell | undefined = view.readings[channel];
    if (reading !== undefined && reading.flag !== 'off') break;
    run.push(channel);
  }
  return run.length > 1 ? run : [];
}

/** "gas is not being watched: radiation only, since 13:51". */
export function modeWords(view: Pick<MonitorView, 'status'>, zone: string): string {
  const since = view.status.modeSince ? `, since ${shortTime(view.status.modeSince, zone)}` : '';
  return view.status.mode === 'radiation-only'
    ? `gas is not being watched: radiation only${since}`
    : `radiation is not being watched: gas only${since}`;
}

/** Motion in words with how much it matters; null where the monitor does not say. */
export function motionWords(view: Pick<MonitorView, 'status'>): {
  readonly words: string;
  readonly level: 'danger' | 'caution' | null;
  readonly since: string | null;
} | null {
  const since = view.status.motionSince ?? null;
  if (view.status.help) return { words: 'calls for help', level: 'danger', since: null };
  if (view.status.motion === 'down') return { words: 'DOWN', level: 'danger', since };
  if (view.status.motion === 'still') return { words: 'still', level: null, since };
  if (view.status.motion === 'moving') return { words: 'moving', level: null, since: null };
  return null;
}

/** What a row says beside its figures and ages, in words that stay the same until there is something to say. */
export type StillView = Pick<
  MonitorView,
  'id' | 'entrant' | 'simulated' | 'zone' | 'link' | 'status' | 'notWatched' | 'refused'
> & { readonly place: string | null };

/** `view` without what moves at every packet and says nothing new: a good battery, a good radio link. */
export function stillView(view: MonitorView): StillView {
  const { id, entrant, simulated, zone, link, status, notWatched, refused, position } = view;
  const { battery, linkQuality, ...rest } = status;
  return {
    id,
    entrant,
    simulated,
    zone,
    link,
    notWatched,
    refused,
    status: {
      ...rest,
      ...(battery !== undefined && battery <= LOW_BATTERY ? { battery } : {}),
      ...(linkQuality !== undefined && linkQuality <= WEAK_LINK ? { linkQuality } : {}),
    },
    place: position ? placeWords(position) : null,
  };
}
