/** Who is in which zone: one press each. Silence and stillness are judged by it. */
import { useComputed } from '@preact/signals';
import { mayNow } from '../access/session.ts';
import type { PartProps } from './desk-page.tsx';
import { inTeamOrder, type Person } from './hand-rows.ts';
import { Said } from './said.tsx';
import { useAct } from './use-act.ts';

const ZONES = ['cold', 'warm', 'hot'] as const;

export function ZonesPart({ store, zone, covered }: PartProps) {
  const people = useComputed(() => inTeamOrder(store.head.value?.people ?? [])).value;
  return (
    <section class="desk-part" aria-labelledby="desk-zones">
      <h2 id="desk-zones" tabIndex={-1}>
        Zones
      </h2>
      <p class="soft">
        As told by radio; nothing moves by itself. Silence, stillness and a blocked pump are danger alarms only for a
        wearer who is known to be in the hot zone.
      </p>
      {people.length === 0 && <p>Nobody has been given a monitor yet.</p>}
      <ul class="desk-people">
        {people.map((person) => (
          <PersonLine key={person.name} person={person} zone={zone} covered={covered} />
        ))}
      </ul>
    </section>
  );
}

function PersonLine({ person, zone, covered }: { person: Person; zone: string; covered: boolean }) {
  const act = useAct();
  const tells = mayNow('type-for-teams');
  const about = [person.team, person.role, person.monitor ?? 'no monitor'].filter((word) => word !== undefined);
  const stands = covered ? 'covered' : (person.zone ?? 'not known');
  return (
    <li>
      <p class="desk-person">
        <b>{person.name}</b> <span class="soft">{about.join(', ')}</span>
        {!tells && <span> {covered ? 'zone covered' : `${stands} zone`}</span>}
      </p>
      {tells && (
        // biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be laid out as a row everywhere
        <div class="desk-zones" role="group" aria-label={`Zone of ${person.name}`}>
          {ZONES.map((one) => (
            <button
              key={one}
              type="button"
              class="button"
              aria-pressed={stands === one}
              aria-disabled={covered || act.busy.value}
              onClick={() => {
                if (covered) return;
                void act.send(
                  { type: 'entry', entrant: person.name, zone: one },
                  `${person.name} is in the ${one} zone.`,
                );
              }}
            >
              {one}
              {stands === one && <span class="desk-now">now</span>}
            </button>
          ))}
        </div>
      )}
      {tells && <Said act={act} zone={zone} />}
    </li>
  );
}
