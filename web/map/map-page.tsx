/** The map: where each monitor is, what is worst there, and a list beside it that says all of it in words. */
import { effect, useSignal, useSignalEffect } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { AlarmView } from '../../shared/protocol/board.ts';
import { useHold } from '../board/hold.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { theme } from '../shell/theme.ts';
import './map.css';
import type { Box } from './map-labels.ts';
import { MapList } from './map-list.tsx';
import { MapPanel } from './map-panel.tsx';
import { type MapPort, type MapReadout, mountMap, NO_READOUT } from './map-port.ts';
import { coveredMarks, inMapOrder, type MapMark, mapMark } from './map-scene.ts';

/** Values change often and markers move slowly: a few drawings a second are enough beside those a hand asks for. */
const DRAW_EVERY_MS = 250;

export function MapPage({ store }: { store: Store }) {
  const host = useRef<HTMLDivElement>(null);
  const port = useRef<MapPort | null>(null);
  const marks = useSignal<readonly MapMark[]>([]);
  const selected = useSignal<string | null>(null);
  const readout = useSignal<MapReadout>(NO_READOUT);
  const { ref: listRef, held } = useHold<HTMLElement>();

  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | null = null;
    let drawnAt = Number.NEGATIVE_INFINITY;
    let newest: readonly MapMark[] = [];
    const show = () => {
      timer = null;
      drawnAt = performance.now();
      marks.value = newest;
    };
    const stop = effect(() => {
      newest = currentMarks(store);
      timer ??= setTimeout(show, Math.max(0, DRAW_EVERY_MS - (performance.now() - drawnAt)));
    });
    return () => {
      stop();
      if (timer !== null) clearTimeout(timer);
    };
  }, [store, marks]);

  useEffect(() => {
    if (!host.current) return;
    const ground = host.current;
    const mounted = mountMap(ground, {
      overlays: () => overlaysOf(ground),
      select: (id) => {
        selected.value = id;
      },
      readout: (next) => {
        if (JSON.stringify(next) !== JSON.stringify(readout.value)) readout.value = next;
      },
    });
    port.current = mounted;
    mounted.update(marks.peek(), selected.peek());
    return () => {
      port.current = null;
      mounted.destroy();
    };
  }, [marks, selected, readout]);

  useSignalEffect(() => {
    port.current?.update(marks.value, selected.value);
  });
  useSignalEffect(() => {
    // Read first: the colours are those of the theme that was just put on.
    if (theme.value) port.current?.repaint();
  });

  const select = (mark: MapMark) => {
    selected.value = mark.id;
    if (mark.place) port.current?.centreOn(mark.place.lat, mark.place.lon);
  };
  const chosen = selected.value;

  return (
    <main class="map-page">
      <h1 class="unseen">Map</h1>
      <div class="map-frame">
        <div
          ref={host}
          class="map-host"
          role="application"
          aria-label="Map. Arrow keys move it, plus and minus zoom. The list after it says everything that the map shows."
        />
        <div class="map-tools">
          <button type="button" class="button" onClick={() => port.current?.fitAll()}>
            Fit all
          </button>
          <button type="button" class="button" aria-label="Zoom in" onClick={() => port.current?.zoomBy(1)}>
            +
          </button>
          <button type="button" class="button" aria-label="Zoom out" onClick={() => port.current?.zoomBy(-1)}>
            −
          </button>
        </div>
        {readout.value.centre === null ? (
          <p class="map-nowhere">No monitor has reported a position yet. Those that are heard are in the list.</p>
        ) : (
          <Readout readout={readout.value} />
        )}
      </div>
      <div class="map-side">
        {chosen !== null && (
          <MapPanel
            store={store}
            id={chosen}
            mark={marks.value.find((one) => one.id === chosen)}
            close={() => {
              selected.value = null;
            }}
          />
        )}
        <MapList marks={marks.value} held={held.value} listRef={listRef} selected={chosen} select={select} />
      </div>
    </main>
  );
}

/** Buttons and the line below, which stand over the map. */
function overlaysOf(ground: HTMLElement): Box[] {
  const { left, top } = ground.getBoundingClientRect();
  return [...(ground.parentElement?.querySelectorAll('.map-tools .button, .map-readout') ?? [])].map((element) => {
    const at = element.getBoundingClientRect();
    return { x: at.left - left, y: at.top - top, width: at.width, height: at.height };
  });
}

function currentMarks(store: Store): readonly MapMark[] {
  const nowMs = store.nowMs.value;
  const alarms = new Map<string, AlarmView[]>();
  for (const alarm of store.alarms.value) {
    const own = alarms.get(alarm.monitor);
    if (own) own.push(alarm);
    else alarms.set(alarm.monitor, [alarm]);
  }
  const found = store.ids.value.flatMap((id) => {
    const view = store.monitor(id).value;
    return view ? [mapMark(view, alarms.get(id) ?? [], nowMs)] : [];
  });
  const { phase } = store.feed.value;
  return inMapOrder(isCovered(phase) ? coveredMarks(found) : found);
}

function Readout({ readout }: { readout: MapReadout }) {
  const { centre, pointer, gridStepM, outside, unlabelled } = readout;
  return (
    <div class="map-readout">
      <p>
        <span class="soft">{pointer === null ? 'centre' : 'pointer'}</span> <b>{pointer ?? centre}</b>
      </p>
      <p>
        <span class="soft">grid</span> {gridStepM === null ? 'too wide to draw' : `${metres(gridStepM)}, USNG, WGS 84`}
      </p>
      <p>
        <span class="soft">wind</span> not on this map yet
      </p>
      {outside > 0 && (
        <p>
          <b>{outside} outside this view</b>
        </p>
      )}
      {unlabelled > 0 && (
        <p>
          <b>{unlabelled} without room for a label</b>: see the list
        </p>
      )}
    </div>
  );
}

function metres(step: number): string {
  return step >= 1000 ? `${step / 1000} km` : `${step} m`;
}
