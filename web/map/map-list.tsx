/** The list beside the map: everything that the map shows, for the keyboard and for a reader. */

import type { Ref } from 'preact';
import { useRef } from 'preact/hooks';
import { PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import type { MapMark } from './map-scene.ts';

type Props = {
  readonly marks: readonly MapMark[];
  /** A pointer or the focus is inside: nothing moves. */
  readonly held: boolean;
  readonly listRef: Ref<HTMLElement>;
  readonly selected: string | null;
  readonly select: (mark: MapMark) => void;
};

export function MapList({ marks, held, listRef, selected, select }: Props) {
  const order = useRef<readonly string[]>([]);
  order.current = listOrder(order.current, marks, held);
  const byId = new Map(marks.map((mark) => [mark.id, mark]));
  const rows = order.current.flatMap((id) => byId.get(id) ?? []);
  const placed = rows.filter((mark) => mark.place !== null);
  const unplaced = rows.filter((mark) => mark.place === null);
  const part = (title: string, some: readonly MapMark[]) => (
    <>
      <h2>
        {title} <span class="soft">{some.length}</span>
      </h2>
      <ul>
        {some.map((mark) => (
          <Row key={mark.id} mark={mark} selected={mark.id === selected} select={select} />
        ))}
      </ul>
    </>
  );
  return (
    <aside class="map-list" ref={listRef} aria-label="Monitors">
      {rows.length === 0 && <p class="map-list-empty">No monitor has been heard yet.</p>}
      {placed.length > 0 && part('On the map', placed)}
      {unplaced.length > 0 && part('No position', unplaced)}
    </aside>
  );
}

function Row({ mark, selected, select }: { mark: MapMark; selected: boolean; select: (mark: MapMark) => void }) {
  const old = mark.link !== 'live';
  return (
    <li>
      <button
        type="button"
        class={`map-row ${mark.priority ?? 'calm'}${old ? ' old' : ''}`}
        aria-pressed={selected}
        onClick={() => select(mark)}
      >
        <span class="map-row-head">
          <b>{mark.name}</b>
          {mark.name !== mark.id && <span class="soft"> {mark.id}</span>}
          {mark.priority !== null && (
            <span class={`map-row-level ${mark.priority}`}>
              <Shape of={mark.priority} />
              {PRIORITY_WORD[mark.priority]}
            </span>
          )}
        </span>
        <span class="map-row-worst">{mark.worst}</span>
        {mark.doubt !== '' && <span class="small">{mark.doubt}</span>}
        {mark.silence !== null && <span class="small">{mark.silence.words}</span>}
        {mark.place?.age != null && <span class="small">{mark.place.age}</span>}
      </button>
    </li>
  );
}

/** The wanted order; while somebody points at the list, old rows stay and new ones join at its end. */
export function listOrder(shown: readonly string[], wanted: readonly MapMark[], held: boolean): string[] {
  const ids = wanted.map((mark) => mark.id);
  if (!held) return ids;
  const known = new Set(shown);
  return [...shown.filter((id) => ids.includes(id)), ...ids.filter((id) => !known.has(id))];
}
