/** Who has which monitor; handing it over and back. */
import { useComputed } from '@preact/signals';
import { mayNow } from '../access/session.ts';
import type { PartProps } from './desk-page.tsx';
import { HandOver } from './hand-over.tsx';
import { handRows, type Person } from './hand-rows.ts';
import { MonitorLine } from './monitor-line.tsx';
import { Said } from './said.tsx';
import { useAct } from './use-act.ts';

export function MonitorsPart({ store, zone, covered }: PartProps) {
  const people = useComputed(() => store.head.value?.people ?? []).value;
  const rows = handRows(store.ids.value, people);
  const hands = mayNow('type-for-teams');
  const teams = [...new Set(people.flatMap((person) => person.team ?? []))];
  return (
    <section class="desk-part" aria-labelledby="desk-monitors">
      <h2 id="desk-monitors" tabIndex={-1}>
        Monitors
      </h2>
      {rows.length === 0 && <p>No monitor has been heard yet.</p>}
      {rows.length > 0 && (
        <table class="desk-monitors">
          <thead>
            <tr>
              <th scope="col">Monitor</th>
              <th scope="col">{hands ? 'Who has it, and handing it over' : 'Who has it'}</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <MonitorLine
                key={row.id}
                row={row}
                people={people}
                store={store}
                zone={zone}
                covered={covered}
                hands={hands}
              />
            ))}
          </tbody>
        </table>
      )}
      {hands && <NotHeard people={people} zone={zone} covered={covered} />}
      <datalist id="desk-call-signs">
        {people.map((person) => (
          <option key={person.name} value={person.name} />
        ))}
      </datalist>
      <datalist id="desk-teams">
        {teams.map((team) => (
          <option key={team} value={team} />
        ))}
      </datalist>
    </section>
  );
}

type NotHeardProps = { people: readonly Person[]; zone: string; covered: boolean };

function NotHeard({ people, zone, covered }: NotHeardProps) {
  const act = useAct();
  return (
    <div class="desk-form ruled">
      <h3>A monitor that has not been heard</h3>
      <HandOver monitor={null} people={people} act={act} off={covered} onDone={() => undefined} />
      <Said act={act} zone={zone} />
    </div>
  );
}
