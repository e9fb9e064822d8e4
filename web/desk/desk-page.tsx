/** What staff need before and around an entry: the incident, the monitors, who is in which zone, notes, wall screens. */
import { useComputed } from '@preact/signals';
import { mayNow } from '../access/session.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { Shape } from '../words/shapes.tsx';
import './desk.css';
import { IncidentPart } from './incident-part.tsx';
import { MonitorsPart } from './monitors-part.tsx';
import { NotePart } from './note-part.tsx';
import { WallsPart } from './walls-part.tsx';
import { ZonesPart } from './zones-part.tsx';

/** What every part needs to know of the page. */
export type PartProps = { readonly store: Store; readonly zone: string; readonly covered: boolean };

export function DeskPage({ store }: { store: Store }) {
  const ready = useComputed(() => store.head.value !== null).value;
  const zone = useComputed(() => store.head.value?.journal.zone ?? 'UTC').value;
  const covered = useComputed(() => isCovered(store.feed.value.phase)).value;
  const part = { store, zone, covered };
  return (
    <main class="desk">
      <div class="desk-head">
        <h1>Desk</h1>
        {!mayNow('type-for-teams') && <p>You are looking only: nothing can be changed from here.</p>}
        {ready && <Jumps />}
        {ready && covered && (
          <p class="desk-covered" role="status">
            <Shape of="danger" />
            Not live: who has what and who is where is covered, and nothing but a note can be sent until the post is
            heard again.
          </p>
        )}
      </div>
      {!ready && <p>Waiting for the post.</p>}
      {ready && (
        <>
          <div class="desk-side">
            <IncidentPart {...part} />
            <MonitorsPart {...part} />
          </div>
          <div class="desk-side">
            <ZonesPart {...part} />
            {mayNow('type-for-teams') && <NotePart {...part} />}
            {mayNow('command') && <WallsPart {...part} />}
          </div>
        </>
      )}
    </main>
  );
}

/** On a narrow screen the parts stand below each other, and the list of monitors may be long. */
function Jumps() {
  const parts: readonly (readonly [id: string, name: string, shown: boolean])[] = [
    ['desk-incident', 'Incident', true],
    ['desk-monitors', 'Monitors', true],
    ['desk-zones', 'Zones', true],
    ['desk-note', 'Note', mayNow('type-for-teams')],
    ['desk-walls', 'Wall screens', mayNow('command')],
  ];
  return (
    <nav class="desk-jumps" aria-label="Parts of this page">
      {parts
        .filter(([, , shown]) => shown)
        .map(([id, name]) => (
          <button key={id} type="button" class="button" onClick={() => document.getElementById(id)?.focus()}>
            {name}
          </button>
        ))}
    </nav>
  );
}
