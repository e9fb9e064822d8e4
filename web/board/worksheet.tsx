/** The table: a row a monitor, grouped by team, and still while somebody points at it. */
import { computed, untracked, useComputed, useSignal } from '@preact/signals';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import type { MonitorView } from '../../shared/protocol/board.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { type ColumnFacts, columnFacts, columnsFor } from '../words/values.ts';
import { useHold } from './hold.ts';
import { MonitorRow } from './monitor-row.tsx';
import { arrange, type Group, holdStill, rowsOutOfPlace, sameGroups } from './order.ts';
import { createRowGate } from './row-gate.ts';
import { useSomeFirst } from './some-first.ts';

type Props = { store: Store; zone: string; links: boolean };

/** Everybody, told anew when it changes who and where they are; their values do not count. */
function allViews(store: Store): MonitorView[] {
  void store.roster.value;
  return untracked(() => store.ids.value.flatMap((id) => store.monitor(id).value ?? []));
}

export function Worksheet({ store, zone, links }: Props) {
  const { ref, held } = useHold<HTMLDivElement>();
  const columns = useColumns(store);
  const { groups, moved, sortNow } = useGroups(store, held);
  const covered = useComputed(() => isCovered(store.feed.value.phase)).value;
  const gate = useMemo(() => createRowGate(store), [store]);
  useEffect(() => () => gate.stop(), [gate]);
  const parts = useSomeFirst(groups);
  return (
    <div class="worksheet-frame" ref={ref}>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard */}
      <section class="worksheet-scroll" tabIndex={0} aria-label="Monitors">
        <table class={`worksheet of-${columns.length}`} style={`--channels: ${columns.length}`}>
          <colgroup>
            <col class="who" />
            <col class="motion" />
            {columns.map((column) => (
              <col key={column.channel} class="channel" />
            ))}
            <col class="where" />
          </colgroup>
          <thead>
            <tr>
              <th scope="col">who</th>
              <th scope="col" class="motion">
                motion
              </th>
              {columns.map((column) => (
                <th key={column.channel} scope="col" class="channel">
                  {column.name}
                </th>
              ))}
              <th scope="col">where, last heard</th>
            </tr>
          </thead>
          {parts.map(({ group, ids }) => (
            <tbody key={group.key}>
              <tr class="group">
                <th scope="rowgroup" colSpan={columns.length + 2}>
                  <GroupHead store={store} group={group} />
                </th>
                <td class="motion" aria-hidden="true" />
              </tr>
              {ids.map((id) => (
                <MonitorRow
                  key={id}
                  store={store}
                  gate={gate}
                  id={id}
                  columns={columns}
                  zone={zone}
                  covered={covered}
                  links={links}
                />
              ))}
            </tbody>
          ))}
        </table>
        {groups.length === 0 && <NothingHeard covered={covered} />}
      </section>
      {moved > 0 && (
        <div class="hold-note">
          <span>
            Order on hold while you are in the table: {moved} {moved === 1 ? 'row' : 'rows'} would move.
          </span>
          {links && (
            <button type="button" class="button" onClick={sortNow}>
              Sort now
            </button>
          )}
        </div>
      )}
    </div>
  );
}

function NothingHeard({ covered }: { covered: boolean }) {
  return (
    <div class="nothing">
      <h2>{covered ? 'Waiting for the post' : 'No monitor has been heard yet'}</h2>
      <p>
        {covered
          ? 'The board appears as soon as the post answers.'
          : 'A row appears with the first packet of each monitor. Until then nothing is being watched.'}
      </p>
    </div>
  );
}

/** The six columns and what else is measured; the same array as long as the columns are the same. */
function useColumns(store: Store): readonly ColumnFacts[] {
  const key = useComputed(() =>
    columnsFor(allViews(store).flatMap((view) => Object.keys(view.readings))).join(' '),
  ).value;
  const kept = useRef<{ key: string; columns: readonly ColumnFacts[] }>({ key: '', columns: [] });
  if (kept.current.key !== key) kept.current = { key, columns: key.split(' ').map(columnFacts) };
  return kept.current.columns;
}

function useGroups(store: Store, held: { readonly value: boolean }) {
  const last = useRef<readonly Group[]>([]);
  const sorted = useSignal(0);
  const wantedBefore = useRef<readonly Group[]>([]);
  // Sorting two hundred rows at every packet would be the dearest thing on the page: only who they are counts.
  const wanted = useComputed(() => {
    const next = arrange(allViews(store), store.alarms.value);
    if (!sameGroups(next, wantedBefore.current)) wantedBefore.current = next;
    return wantedBefore.current;
  });
  const shown = useComputed(() => {
    void sorted.value;
    const next = held.value ? holdStill(last.current, wanted.value) : wanted.value;
    if (!sameGroups(next, last.current)) last.current = next;
    return last.current;
  });
  return {
    groups: shown.value,
    moved: held.value ? rowsOutOfPlace(shown.value, wanted.value) : 0,
    sortNow: () => {
      last.current = wanted.peek();
      sorted.value += 1;
    },
  };
}

function GroupHead({ store, group }: { store: Store; group: Group }) {
  const counts = useMemo(() => computed(() => countWords(store, group.ids)), [store, group.ids]).value;
  return (
    <div class="group-head">
      <span class="group-name">{group.title}</span>
      <span class="group-words">
        {group.kind ? `${group.kind}, ` : ''}
        {counts}
      </span>
    </div>
  );
}

function countWords(store: Store, ids: readonly string[]): string {
  void store.roster.value;
  const views = untracked(() => ids.flatMap((id) => store.monitor(id).value ?? []));
  const hot = views.filter((view) => view.zone === 'hot').length;
  const warm = views.filter((view) => view.zone === 'warm').length;
  const parts = [`${views.length} ${views.length === 1 ? 'monitor' : 'monitors'}`];
  if (hot > 0) parts.push(`${hot} in the hot zone`);
  if (warm > 0) parts.push(`${warm} in the warm zone`);
  return parts.join(', ');
}
