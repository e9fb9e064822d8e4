/** The table in force, asked for again whenever the live board says that it may be another. */
import { type ReadonlySignal, signal, useComputed } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { SetPointTable } from '../../shared/alarm/set-point.ts';
import { type SetPointsView, setPointsView, type TableCheck, tableCheck } from '../../shared/protocol/set-points.ts';
import { ask, type PostAnswer } from '../access/post.ts';
import type { Store } from '../feed/store.ts';

export type TableInForce = SetPointsView | { readonly failed: string } | null;

const current = signal<TableInForce>(null);
export const inForce: ReadonlySignal<TableInForce> = current;

let asked = 0;

/** Asks the post for the table in force. What is shown stays until another answer is there. */
export async function refreshTable(): Promise<void> {
  asked += 1;
  const mine = asked;
  const answer = await ask('GET', '/api/v1/set-points', undefined, setPointsView);
  if (mine !== asked) return;
  if (answer.ok) current.value = answer.value;
  else if (current.value === null || 'failed' in current.value) current.value = { failed: answer.message };
}

/** Asks what a table would do. Nothing is recorded. */
export function checkOnPost(table: SetPointTable): Promise<PostAnswer<TableCheck>> {
  return ask('POST', '/api/v1/set-points/check', table, tableCheck);
}

/** Keeps `inForce` up to date while the page stands: by the head of the board, its record, and each adoption told. */
export function useTableInForce(store: Store): void {
  const key = useComputed(() => {
    const head = store.head.value?.setPoints;
    const told = store.events.value.findLast((event) => event.type === 'board' && event.change === 'set-points');
    return `${store.epoch.value} ${head?.name} ${head?.version} ${head?.reviewed} ${told?.at}`;
  }).value;
  useEffect(() => void refreshTable(), [key]);
}
