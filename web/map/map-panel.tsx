/** What stands at one monitor, over the map: its readings and the way to its own page. */
import { useEffect, useRef } from 'preact/hooks';
import { toUsngSpoken } from '../../shared/map/usng.ts';
import { alarmAt } from '../board/alarms-at.ts';
import { cellWords } from '../board/cell-words.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { monitorPath } from '../shell/routes.ts';
import { stateTag } from '../words/alarm-states.ts';
import { Shape } from '../words/shapes.tsx';
import { columnFacts, columnsFor } from '../words/values.ts';
import type { MapMark } from './map-scene.ts';

type Props = {
  readonly store: Store;
  readonly id: string;
  readonly mark: MapMark | undefined;
  readonly close: () => void;
};

export function MapPanel({ store, id, mark, close }: Props) {
  const view = store.monitor(id).value;
  const panel = useRef<HTMLElement>(null);
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (event.key === 'Escape') close();
    };
    document.addEventListener('keydown', onKey);
    return () => document.removeEventListener('keydown', onKey);
  }, [close]);
  if (!view || !mark) return null;
  const covered = isCovered(store.feed.value.phase);
  const zone = store.head.value?.journal.zone ?? 'UTC';
  const usng = mark.place && toUsngSpoken(mark.place.lat, mark.place.lon);
  return (
    <section class="map-panel" ref={panel} aria-label={`${mark.name}, readings`}>
      <div class="map-panel-head">
        <h2>
          {mark.name} {mark.name !== id && <span class="soft">{id}</span>}
        </h2>
        <button type="button" class="button" onClick={close}>
          Close
        </button>
      </div>
      {mark.silence !== null && <p class="map-panel-silence">{mark.silence.words}</p>}
      {covered ? (
        <p class="map-panel-silence">The post is not heard: no value is known now.</p>
      ) : (
        <dl class={mark.link === 'live' ? '' : 'old'}>
          {columnsFor(Object.keys(view.readings)).map((channel) => {
            const cell = view.readings[channel];
            if (!cell) return null;
            const words = cellWords(columnFacts(channel), cell);
            const alarm = alarmAt(store.alarms.value, id, channel);
            const notes = alarm === undefined ? words.notes : [...words.notes, stateTag(alarm, zone)];
            const said = notes.filter((note) => note !== '').join('; ');
            return (
              <div key={channel} class={`map-panel-row ${cell.level ?? ''} ${cell.standing}`}>
                <dt>{columnFacts(channel).name}</dt>
                <dd>
                  {cell.level !== null && <Shape of={cell.level} />}
                  <b>{words.main}</b> {words.unit}
                  {said !== '' && <span class="small">{said}</span>}
                </dd>
              </div>
            );
          })}
        </dl>
      )}
      {view.notWatched.length > 0 && <p class="small">{view.notWatched.join('; ')}</p>}
      <p class="small">
        {usng ?? 'no position'}
        {mark.place?.accuracyM != null && `, within ${Math.round(mark.place.accuracyM)} m`}
        {mark.place?.age != null && `, ${mark.place.age}`}
      </p>
      <a class="button main" href={monitorPath(id)}>
        All about {mark.name}
      </a>
    </section>
  );
}
