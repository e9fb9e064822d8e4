/** What happened, newest first: who, when, and what was decided. */
import type { AlarmHistoryEntry } from '../../shared/protocol/alarm-history.ts';
import type { Store } from '../feed/store.ts';
import { dayTime } from '../monitor/day-time.ts';
import { Age } from '../words/age.tsx';
import { grouped } from '../words/alarm-words.ts';
import { PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import { useAlarmHistory } from './use-alarm-history.ts';

/** `alarm`: of that one alone. */
export function HistoryPart({ store, zone, alarm }: { store: Store; zone: string; alarm?: string }) {
  const { state, more } = useAlarmHistory(store, alarm);
  const now = state.value;
  if (now.phase === 'asking') return <p class="soft">Asking the post.</p>;
  if (now.phase === 'failed') return <p>No history: {now.message}</p>;
  const { events, next, cut } = now.history;
  return (
    <div class="alarm-history">
      {events.length === 0 && <p class="soft">Nothing happened to an alarm in this record.</p>}
      {events.length > 0 && (
        <ol>
          {events.map((entry) => (
            <Entry key={entry.number} store={store} entry={entry} zone={zone} brief={alarm !== undefined} />
          ))}
        </ol>
      )}
      {next !== null && (
        <button type="button" class="button" onClick={more}>
          Older ones
        </button>
      )}
      {cut && <p class="soft">Older ones are in the record, not on this page.</p>}
    </div>
  );
}

type EntryProps = { store: Store; entry: AlarmHistoryEntry; zone: string; brief: boolean };

function Entry({ store, entry, zone, brief }: EntryProps) {
  const who = entry.entrant ?? entry.monitor;
  return (
    <li>
      <span class="history-when">
        {dayTime(entry.at, zone, store.nowMs.value)}
        <span class="soft">
          {' '}
          <Age store={store} at={entry.at} /> ago
        </span>
      </span>
      <span class={`history-level ${entry.priority}`}>
        <Shape of={entry.priority} />
        {PRIORITY_WORD[entry.priority]}
      </span>
      <span class="history-what">
        {!brief && who !== '' && !entry.words.startsWith(who) && `${who} `}
        {grouped(entry.words)}: <b>{entry.says}</b>
      </span>
    </li>
  );
}
