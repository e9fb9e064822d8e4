import { useComputed } from '@preact/signals';
import type { Store } from '../feed/store.ts';
import { AlarmList } from './alarm-list.tsx';
import { Worksheet } from './worksheet.tsx';
import '../styles/board.css';
import '../styles/rows.css';
import '../styles/alarms.css';

/** The board: the worksheet, and beside or below it what waits for an answer. */
export function BoardPage({ store, wall = false }: { store: Store; wall?: boolean }) {
  const zone = useComputed(() => store.head.value?.journal.zone ?? 'UTC').value;
  return (
    <main class={wall ? 'board wall' : 'board'}>
      <h1 class="unseen">Board</h1>
      <Worksheet store={store} zone={zone} links={!wall} />
      <AlarmList store={store} zone={zone} canAct={!wall} />
    </main>
  );
}
