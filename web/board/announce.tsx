/** Reads new alarms out to those who listen: danger at once, all else when there is a pause. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { AlarmView } from '../../shared/protocol/board.ts';
import { isWaiting } from '../feed/alarm-order.ts';
import type { Store } from '../feed/store.ts';

function key(alarm: AlarmView): string {
  return `${alarm.id} ${alarm.occurrence} ${alarm.priority}`;
}

function say(alarms: readonly AlarmView[]): string {
  const words = alarms.slice(0, 3).map((one) => `${one.priority}: ${one.entrant ?? one.monitor} ${one.words}`);
  return alarms.length > 3 ? `${words.join('. ')}. And ${alarms.length - 3} more.` : words.join('. ');
}

export function Announce({ store }: { store: Store }) {
  const urgent = useSignal('');
  const calm = useSignal('');
  useEffect(() => {
    let seen: Set<string> | null = null;
    return store.alarms.subscribe((all) => {
      // What is put aside is not called out; when it comes back to wait, it is news.
      const alarms = all.filter(isWaiting);
      // What stood there when the page opened is read like the rest of the page, not called out.
      if (store.head.peek() === null) return;
      const now = new Set(alarms.map(key));
      const before = seen;
      seen = now;
      if (before === null) return;
      const fresh = alarms.filter((alarm) => !before.has(key(alarm)));
      const danger = fresh.filter((alarm) => alarm.priority === 'danger');
      const other = fresh.filter((alarm) => alarm.priority !== 'danger');
      if (danger.length > 0) urgent.value = say(danger);
      if (other.length > 0) calm.value = say(other);
    });
  }, [store, urgent, calm]);
  return (
    <>
      <div class="unseen" aria-live="assertive">
        {urgent}
      </div>
      <div class="unseen" aria-live="polite">
        {calm}
      </div>
    </>
  );
}
