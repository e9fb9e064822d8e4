import { computed, useComputed } from '@preact/signals';
import { useCallback, useMemo, useRef } from 'preact/hooks';
import type { Store } from '../feed/store.ts';
import { go, monitorPath } from '../shell/routes.ts';
import { Age } from '../words/age.tsx';
import { stateTag } from '../words/alarm-states.ts';
import { Shape } from '../words/shapes.tsx';
import type { ColumnFacts } from '../words/values.ts';
import { CellView } from './cell-view.tsx';
import { kept } from './kept.ts';
import type { RowGate } from './row-gate.ts';
import { coveredByMode, modeWords, motionWords, type StillView, shownLink, stillView } from './row-words.ts';
import { Where } from './where.tsx';

type Props = {
  store: Store;
  gate: RowGate;
  id: string;
  columns: readonly ColumnFacts[];
  zone: string;
  covered: boolean;
  /** A wall screen can do nothing, not even look closer. */
  links: boolean;
};

/** One monitor of the worksheet. What moves at every packet draws itself; the rest is drawn anew when it changes. */
export function MonitorRow({ store, gate, id, columns, zone, covered, links }: Props) {
  const parts = useMemo(() => {
    const shown = gate.shown(id);
    return {
      view: kept(() => (shown.value ? stillView(shown.value) : null)),
      heardAt: computed(() => shown.value?.lastHeardAt ?? ''),
      byMode: kept(() => {
        const channels = columns.map((column) => column.channel);
        return shown.value ? coveredByMode(shown.value, channels) : [];
      }),
      cells: columns.map((column) => computed(() => shown.value?.readings[column.channel])),
    };
  }, [gate, id, columns]);
  const link = useComputed(() => {
    const now = store.monitor(id).value;
    return now ? shownLink(now, store.nowMs.value) : 'lost';
  });
  const watched = useRef<(() => void) | null>(null);
  const watch = useCallback(
    (row: HTMLTableRowElement | null) => {
      watched.current?.();
      watched.current = row ? gate.watch(row, id) : null;
    },
    [gate, id],
  );
  const view = parts.view.value;
  if (!view) return null;
  const byMode = covered ? [] : parts.byMode.value;
  const open = (event: MouseEvent) => {
    if (event.target instanceof Element && event.target.closest('a, button')) return;
    if (window.getSelection()?.isCollapsed === false) return;
    go(monitorPath(id));
  };
  return (
    <tr ref={watch} class={`row link-${link.value}${links ? ' opens' : ''}`} {...(links ? { onClick: open } : {})}>
      <th scope="row" class="who">
        <Name view={view} links={links} />
        <div class="motion-here">
          <Motion store={store} view={view} zone={zone} covered={covered} />
        </div>
      </th>
      <td class="motion">
        <Motion store={store} view={view} zone={zone} covered={covered} />
      </td>
      {columns.map((column, i) => {
        if (byMode[0] === column.channel) {
          return (
            <td
              key={column.channel}
              class="cell by-mode"
              colSpan={byMode.length}
              style={`grid-column: span ${byMode.length}`}
            >
              {modeWords(view, zone)}
            </td>
          );
        }
        if (byMode.includes(column.channel)) return null;
        const cell = parts.cells[i];
        if (!cell) return null;
        return (
          <CellView
            key={column.channel}
            store={store}
            monitor={id}
            zone={zone}
            column={column}
            cell={cell}
            link={link.value}
            covered={covered}
          />
        );
      })}
      <Where
        store={store}
        view={view}
        heardAt={parts.heardAt}
        link={link.value}
        zone={zone}
        covered={covered}
        skipMode={byMode.length > 0}
      />
    </tr>
  );
}

function Name({ view, links }: { view: StillView; links: boolean }) {
  const inside = (
    <>
      <span class="name">{view.entrant ?? view.id}</span>
      <span class="id">
        {view.entrant ? view.id : 'nobody given'}
        {view.simulated ? ' · simulated' : ''}
      </span>
    </>
  );
  return links ? (
    <a class="name-link" href={monitorPath(view.id)}>
      {inside}
    </a>
  ) : (
    <span class="name-link">{inside}</span>
  );
}

function Motion({ store, view, zone, covered }: { store: Store; view: StillView; zone: string; covered: boolean }) {
  // What the alarm list says about lying still decides how loud this is: a monitor left on a post may lie still.
  const alarm = useComputed(() =>
    store.alarms.value.find(
      (one) => one.monitor === view.id && (one.kind === 'still' || one.kind === 'down' || one.kind === 'help'),
    ),
  ).value;
  if (covered) return <span>–</span>;
  const motion = motionWords(view);
  if (!motion && !alarm) return <span class="soft">not told</span>;
  const level = motion?.level ?? (alarm?.priority === 'notice' ? null : (alarm?.priority ?? null));
  const since = motion?.since ?? alarm?.since ?? null;
  const tag = alarm === undefined ? '' : stateTag(alarm, zone);
  // Beside "moving" it has to be said what is held.
  const held = alarm !== undefined && motion !== null && alarm.kind !== kindOf(motion.words) ? `${alarm.kind}: ` : '';
  return (
    <span class={level ? `motion-word ${level}` : 'motion-word'}>
      {level && <Shape of={level} />}
      {motion?.words ?? alarm?.kind}
      {since !== null && motion?.words !== 'moving' && (
        <span class="for">
          {' '}
          <Age store={store} at={since} />
        </span>
      )}
      {tag !== '' && (
        <span class="for motion-state">
          {held}
          {tag}
        </span>
      )}
    </span>
  );
}

/** The kind of alarm that says the same as these words. */
function kindOf(words: string): string {
  return words === 'DOWN' ? 'down' : words === 'calls for help' ? 'help' : words;
}
