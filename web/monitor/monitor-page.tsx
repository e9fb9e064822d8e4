/** Everything about one monitor: who carries it, what it reads and whether that can be believed, and how it came to it. */
import { useSignal } from '@preact/signals';
import { toUsngSpoken } from '../../shared/map/usng.ts';
import type { MonitorView } from '../../shared/protocol/board.ts';
import { lastKnownWords, shownLink } from '../board/row-words.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { theme } from '../shell/theme.ts';
import { ageWords, secondsSince } from '../words/times.ts';
import { columnsFor } from '../words/values.ts';
import { ChannelHistory } from './channel-history.tsx';
import { staleAfterMs } from './history-data.ts';
import './monitor.css';
import { MonitorAlarms } from './monitor-alarms.tsx';
import { MonitorExposure } from './monitor-exposure.tsx';
import { MonitorPackets } from './monitor-packets.tsx';
import { MonitorStatus } from './monitor-status.tsx';
import { type Minutes, useHistory } from './use-history.ts';

const RANGES: readonly (readonly [Minutes, string])[] = [
  [15, '15 min'],
  [60, '1 h'],
  [360, '6 h'],
];

export function MonitorPage({ store, id }: { store: Store; id: string }) {
  const view = store.monitor(id).value;
  const head = store.head.value;
  if (!view) {
    return (
      <main class="monitor-page">
        <h1>{id}</h1>
        <p>{head === null ? 'Waiting for the post.' : `No monitor ${id} has been heard.`}</p>
        <p>
          <a class="button" href="/">
            To the board
          </a>
        </p>
      </main>
    );
  }
  const zone = head?.incident?.zone ?? head?.journal.zone ?? 'UTC';
  const alarms = store.alarms.value.filter((alarm) => alarm.monitor === id);
  const covered = isCovered(store.feed.value.phase);
  const old = covered || shownLink(view, store.nowMs.value) !== 'live';
  return (
    <main class="monitor-page">
      <Head store={store} view={view} />
      <Channels key={id} store={store} view={view} zone={zone} />
      <div class="monitor-side">
        <section aria-label="Alarms">
          <h2>Alarms{covered && <span>, as last known</span>}</h2>
          <MonitorAlarms alarms={alarms} zone={zone} covered={covered} nowMs={store.nowMs.value} />
        </section>
        <MonitorExposure store={store} view={view} zone={zone} />
        <section aria-label="Instrument" class={old ? 'old' : ''}>
          <h2>Instrument{old && <span>, as last told; not known now</span>}</h2>
          <MonitorStatus store={store} view={view} zone={zone} />
        </section>
      </div>
      <div class="monitor-journal">
        <MonitorPackets id={id} zone={zone} />
      </div>
    </main>
  );
}

function placeOf({ position }: MonitorView): string {
  if (!position) return 'no position';
  return toUsngSpoken(position.lat, position.lon) ?? `${position.lat.toFixed(4)}, ${position.lon.toFixed(4)}`;
}

function Head({ store, view }: { store: Store; view: MonitorView }) {
  const nowMs = store.nowMs.value;
  const covered = isCovered(store.feed.value.phase);
  const link = shownLink(view, nowMs);
  const age = ageWords(secondsSince(view.lastHeardAt, nowMs));
  const heard =
    link === 'live' ? `heard ${age} ago` : `${lastKnownWords(view, store.alarms.value)}, ${age} ago; unknown now`;
  const about = [
    view.entrant === undefined ? 'nobody carries it' : view.id,
    view.team,
    view.role,
    view.zone === undefined ? 'zone not told' : `${view.zone} zone`,
    placeOf(view),
    view.relay === undefined ? undefined : `heard by ${view.relay}`,
    view.simulated ? 'simulated' : undefined,
  ].filter((part) => part !== undefined);
  return (
    <header class="monitor-head">
      <h1>{view.entrant ?? view.id}</h1>
      <p>{about.join(', ')}</p>
      <p class={covered || link !== 'live' ? 'monitor-silent' : ''}>
        {covered ? 'the post is not heard: nothing is known now' : heard}
      </p>
      {view.notWatched.length > 0 && (
        <p>
          <b>not watched: {view.notWatched.join('; ')}</b>
        </p>
      )}
      {view.refused && (
        <p>
          <b>
            {view.refused.count === 1 ? 'a packet was' : `${view.refused.count} packets were`} not taken:{' '}
            {view.refused.message}
          </b>
        </p>
      )}
    </header>
  );
}

function Channels({ store, view, zone }: { store: Store; view: MonitorView; zone: string }) {
  const minutes = useSignal<Minutes>(15);
  const attempt = useSignal(0);
  const state = useHistory(store, view.id, minutes.value, attempt.value).value;
  const known = state.phase === 'here' ? state.channels : [];
  const measured = new Set([...Object.keys(view.readings), ...known.map((one) => one.channel)]);
  const columns = columnsFor(measured).filter((channel) => measured.has(channel));
  const link = shownLink(view, store.nowMs.value);
  return (
    <section class="monitor-channels" aria-label="Readings">
      <div class="monitor-range">
        <h2>Readings</h2>
        <fieldset>
          <legend class="unseen">Time shown</legend>
          {RANGES.map(([value, words]) => (
            <button
              key={value}
              type="button"
              class="button"
              aria-pressed={minutes.value === value}
              onClick={() => {
                minutes.value = value;
              }}
            >
              {words}
            </button>
          ))}
        </fieldset>
      </div>
      {state.phase === 'asking' && <p>Asking the post for the history.</p>}
      {state.phase === 'failed' && (
        <p class="monitor-failed">
          No history: {state.message}{' '}
          <button type="button" class="button" onClick={() => attempt.value++}>
            Ask again
          </button>
        </p>
      )}
      {columns.map((channel) => (
        <ChannelHistory
          // A chart keeps the colours it was made with: another theme makes another chart.
          key={`${channel} ${theme.value}`}
          store={store}
          channel={channel}
          cell={view.readings[channel]}
          link={link}
          covered={isCovered(store.feed.value.phase)}
          history={known.find((one) => one.channel === channel)}
          minutes={minutes.value}
          staleMs={staleAfterMs(view)}
          zone={zone}
        />
      ))}
    </section>
  );
}
