/** Which record is open, since when and by whom; opening and closing it. */
import { useComputed, useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { BoardHead } from '../../shared/protocol/board.ts';
import { mayNow, session } from '../access/session.ts';
import type { Store } from '../feed/store.ts';
import { dayTime } from '../monitor/day-time.ts';
import { Age } from '../words/age.tsx';
import { isKnownZone } from '../words/times.ts';
import { CloseIncident } from './close-incident.tsx';
import type { PartProps } from './desk-page.tsx';
import { OpenIncident } from './open-incident.tsx';
import { Said } from './said.tsx';
import { useAct } from './use-act.ts';

export function IncidentPart({ store, zone, covered }: PartProps) {
  const incident = useComputed(() => store.head.value?.incident ?? null).value;
  const act = useAct();
  /** Who opened what from this page: the name by which the incident is then known. */
  const openedHere = useSignal<string | null>(null);
  const heading = useRef<HTMLHeadingElement>(null);
  const governs = mayNow('govern');
  const done = () => heading.current?.focus();
  return (
    <section class="desk-part" aria-labelledby="desk-incident">
      <h2 id="desk-incident" ref={heading} tabIndex={-1}>
        Incident
      </h2>
      <div class={covered ? 'desk-state covered' : 'desk-state'}>
        {incident ? (
          <OpenNow store={store} incident={incident} zone={zone} openedHere={openedHere.value === incident.name} />
        ) : (
          <>
            <p class="desk-big">No incident is open</p>
            <p>
              Standby: what is heard is kept in the standby record. The first danger alarm of a real monitor opens an
              incident by itself.
            </p>
          </>
        )}
        <Recording store={store} zone={zone} />
      </div>
      <Said act={act} zone={zone} />
      {!governs && mayNow('type-for-teams') && (
        <p class="soft">Opening and closing takes a commander; you are logged in as {session.value?.role}.</p>
      )}
      {governs && incident && (
        <CloseIncident key={incident.id} store={store} incident={incident} act={act} off={covered} onDone={done} />
      )}
      {governs && (incident === null || incident.exercise) && (
        <OpenIncident
          duringExercise={incident?.name ?? null}
          zone={zone}
          act={act}
          off={covered}
          onDone={(name) => {
            openedHere.value = name;
            done();
          }}
        />
      )}
    </section>
  );
}

type OpenNowProps = {
  store: Store;
  incident: NonNullable<BoardHead['incident']>;
  zone: string;
  openedHere: boolean;
};

function OpenNow({ store, incident, zone, openedHere }: OpenNowProps) {
  const told = store.events.value.findLast((event) => event.type === 'board' && event.change === 'opened');
  const by = told?.by ?? (openedHere ? session.value?.name : undefined);
  return (
    <>
      <p class="desk-big">
        {incident.exercise ? 'Exercise: ' : ''}
        {incident.name}
      </p>
      <p>
        Open since {dayTime(incident.openedAt, zone, store.nowMs.value)} (<Age store={store} at={incident.openedAt} />)
        {by === undefined ? '' : by === 'post' ? ', opened by itself' : `, by ${by}`}. Times are shown in{' '}
        {isKnownZone(zone) ? zone : `UTC, because this browser does not know ${zone}`}.
      </p>
    </>
  );
}

function Recording({ store, zone }: { store: Store; zone: string }) {
  const recording = useComputed(() => store.head.value?.recording).value;
  if (!recording || recording.ok) return <p>What comes in is being recorded.</p>;
  const since = recording.since ? ` since ${dayTime(recording.since, zone, store.nowMs.value)}` : '';
  return (
    <p>
      <b>Not being recorded{since}.</b> What is asked for here is refused until it can be recorded.
    </p>
  );
}
