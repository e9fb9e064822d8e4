/** The instrument itself: what it runs on, how it moves, when it was last shown to be fit. */
import type { MonitorView } from '../../shared/protocol/board.ts';
import type { Store } from '../feed/store.ts';
import { ageWords, secondsSince } from '../words/times.ts';
import { dayTime } from './day-time.ts';

const MODE_WORDS = { all: 'all sensors', 'gas-only': 'gas only', 'radiation-only': 'radiation only' } as const;
const NOT_TOLD = 'not told';

export function MonitorStatus({ store, view, zone }: { store: Store; view: MonitorView; zone: string }) {
  const nowMs = store.nowMs.value;
  const { status } = view;
  const since = (at: string | undefined) => (at === undefined ? '' : `, for ${ageWords(secondsSince(at, nowMs))}`);
  const done = (at: string | undefined) =>
    at === undefined ? NOT_TOLD : `${dayTime(at, zone, nowMs)}, ${ageWords(secondsSince(at, nowMs))} ago`;
  const motion = status.help
    ? 'calls for help'
    : status.motion === undefined
      ? NOT_TOLD
      : `${status.motion}${since(status.motionSince)}`;
  const facts: readonly (readonly [string, string])[] = [
    ['motion', motion],
    ['battery', status.battery === undefined ? NOT_TOLD : `${status.battery} %`],
    ['pump', status.pump ?? NOT_TOLD],
    ['mode', status.mode === undefined ? NOT_TOLD : `${MODE_WORDS[status.mode]}${since(status.modeSince)}`],
    ['radio', status.linkQuality === undefined ? NOT_TOLD : `${status.linkQuality} %`],
    ['reports every', status.intervalMs === undefined ? NOT_TOLD : `${status.intervalMs / 1000} s`],
    ['zeroed', done(status.zeroedAt)],
    ['bump test', done(status.bumpedAt)],
    ['calibrated', done(status.calibratedAt)],
    ['test due', status.testDue === undefined ? NOT_TOLD : status.testDue ? 'yes' : 'no'],
  ];
  return (
    <dl class="monitor-status">
      {facts.map(([name, words]) => (
        <div key={name} class={words === NOT_TOLD ? 'soft' : ''}>
          <dt>{name}</dt>
          <dd>{words}</dd>
        </div>
      ))}
    </dl>
  );
}
