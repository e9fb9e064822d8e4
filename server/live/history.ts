/** Channels of one monitor over time, thinned for a chart with the least and the greatest of each span kept. */
import { comparedValue, pointsOf } from '../../shared/alarm/compile.ts';
import type { SetPoint } from '../../shared/alarm/set-point.ts';
import { backgroundOf } from '../../shared/incident/backgrounds.ts';
import { numberOf } from '../../shared/incident/fold-packet.ts';
import { setPointWords } from '../../shared/incident/levels.ts';
import { stampOf } from '../../shared/incident/measured-time.ts';
import type { IncidentState, MonitorState } from '../../shared/incident/state.ts';
import { MINUTE, toWallMs } from '../../shared/incident/time.ts';
import { staleAfterUs } from '../../shared/incident/watch.ts';
import type {
  History,
  HistoryChannel,
  HistoryFlag,
  HistoryLevel,
  HistoryPoint,
} from '../../shared/protocol/history.ts';
import type { StoredReading } from '../../shared/protocol/stored-packet.ts';
import type { Unit } from '../../shared/quantity/channels.ts';
import type { Post } from '../watch/post.ts';

const MOST_PACKETS = 100_000;
const SPANS = 900;

type Sample = { readonly ms: number; readonly value: number | null; readonly flag: HistoryFlag['flag'] | null };
type Samples = { unit: Unit | null; list: Sample[] };

/** History of the last `minutes`, by measured time. */
export function historyOf(post: Post, monitor: MonitorState, minutes: number): History {
  const state = post.watch.state();
  const to = post.clock.now();
  const from = to - minutes * MINUTE;
  const fromMs = toWallMs(from, state.wallOffsetMs);
  const toMs = toWallMs(to, state.wallOffsetMs);
  const byChannel = collect(post, state, monitor.id, from, to);
  const gapMs = staleAfterUs(monitor) / 1000;
  const channels = [...byChannel].map(([channel, samples]): HistoryChannel => {
    samples.list.sort((a, b) => a.ms - b.ms);
    return {
      channel,
      unit: samples.unit,
      points: thinned(samples.list, fromMs, Math.max(1, (toMs - fromMs) / SPANS), gapMs),
      flags: flagSpans(samples.list, gapMs),
      levels: levelsOf(state, monitor.id, channel),
    };
  });
  return { monitor: monitor.id, from: new Date(fromMs).toISOString(), to: new Date(toMs).toISOString(), channels };
}

function collect(post: Post, state: IncidentState, id: string, from: number, to: number): Map<string, Samples> {
  const byChannel = new Map<string, Samples>();
  for (const record of post.watch.journal().packetsOf(id, from, to, MOST_PACKETS)) {
    if (record.kind !== 'packet') continue;
    const stamp = stampOf(record.packet, record.at, state.wallOffsetMs, state.relays.get(record.relay));
    if (stamp.at < from) continue;
    const ms = toWallMs(stamp.at, state.wallOffsetMs);
    for (const [channel, reading] of record.packet.readings) {
      const samples = byChannel.get(channel) ?? { unit: null, list: [] };
      byChannel.set(channel, samples);
      const number = numberOf(channel, reading);
      if (number !== null) samples.unit = number.unit;
      samples.list.push({ ms, value: number?.value ?? null, flag: flagOf(reading) });
    }
  }
  return byChannel;
}

function flagOf(reading: StoredReading): HistoryFlag['flag'] | null {
  if (reading.aside !== undefined) return 'not-understood';
  return reading.flag ?? null;
}

/** One point a span that holds anything; a point without a value where nothing was heard for longer than `gapMs`. */
function thinned(samples: readonly Sample[], fromMs: number, spanMs: number, gapMs: number): HistoryPoint[] {
  const points: HistoryPoint[] = [];
  let last: number | null = null;
  let span = -1;
  for (const { ms, value } of samples) {
    if (last !== null && ms - last > gapMs) points.push([last + 1, null, null, null]);
    last = ms;
    const mine = Math.floor((ms - fromMs) / spanMs);
    const point = points.at(-1);
    const same = mine === span && point !== undefined && (point[1] === null) === (value === null);
    if (!same || point === undefined) points.push([ms, value, value, value]);
    else {
      point[0] = ms;
      point[1] = value;
      if (value !== null) {
        point[2] = Math.min(point[2] ?? value, value);
        point[3] = Math.max(point[3] ?? value, value);
      }
    }
    span = mine;
  }
  return points;
}

function flagSpans(samples: readonly Sample[], gapMs: number): HistoryFlag[] {
  const spans: HistoryFlag[] = [];
  for (const { ms, flag } of samples) {
    const open = spans.at(-1);
    if (flag === null) continue;
    if (open !== undefined && open.flag === flag && ms - open.to <= gapMs) open.to = ms;
    else spans.push({ from: ms, to: ms, flag });
  }
  return spans;
}

/** Levels that stand at one value of the channel; those against a background at where it puts them. */
function levelsOf(state: IncidentState, monitor: string, channel: string): HistoryLevel[] {
  const background = backgroundOf(state, monitor, channel).value;
  return pointsOf(state.table, channel).flatMap((point) =>
    levelValues(point, background).map((value) => ({ value, priority: point.priority, words: setPointWords(point) })),
  );
}

function levelValues(point: SetPoint, background: number): number[] {
  switch (point.compare) {
    case 'value':
      return [point.value];
    case 'above-background':
      return [background + point.value];
    case 'times-background':
      return [background * point.value];
    case 'off-background':
      return [background - point.value, background + point.value].filter(
        (value) => (comparedValue(point, value, background) ?? 0) > 0,
      );
    default:
      return [];
  }
}
