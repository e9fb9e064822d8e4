/** What an officer can do with one alarm beside acknowledging it: shelve, unshelve, reset with a reason, take out. */
import type { AlarmView } from '../../shared/protocol/board.ts';
import { PressButton, Said } from '../desk/said.tsx';
import { useAct } from '../desk/use-act.ts';
import { ActForm } from './act-form.tsx';
import {
  LONGEST_SHELF_MIN,
  protectedWords,
  readShelfMinutes,
  resetNeeds,
  SHORTEST_SHELF_MIN,
  scopesOf,
} from './alarm-rules.ts';

export function CardActs({ alarm, zone }: { alarm: AlarmView; zone: string }) {
  const never = protectedWords(alarm);
  return (
    <div class="card-acts">
      {resetNeeds(alarm) === 'reason' && <ResetWithReason alarm={alarm} zone={zone} />}
      {alarm.state === 'shelved' && <Unshelve alarm={alarm} zone={zone} />}
      {never !== null && <p class="note never">{never}</p>}
      {never === null && <Shelve alarm={alarm} zone={zone} />}
      {never === null && alarm.state !== 'out-of-service' && <TakeOut alarm={alarm} zone={zone} />}
    </div>
  );
}

function Shelve({ alarm, zone }: { alarm: AlarmView; zone: string }) {
  const again = alarm.state === 'shelved';
  return (
    <ActForm
      title={again ? 'Shelve anew' : 'Shelve'}
      confirm="Confirm: shelve"
      zone={zone}
      reasonLabel="Why (goes on record)"
      done="it is shelved, and comes back by itself"
      command={(reason, form) => {
        const field = form.elements.namedItem('minutes');
        const minutes = field instanceof HTMLInputElement ? readShelfMinutes(field.value) : null;
        if (minutes === null) {
          if (field instanceof HTMLInputElement) field.focus();
          return null;
        }
        return { type: 'shelve', alarm: alarm.id, minutes, reason };
      }}
    >
      <p class="note">
        It does not sound while it is shelved; it is evaluated and recorded all the same. Where it still holds when the
        time is up, it waits for an answer again.
      </p>
      <label>
        Minutes ({SHORTEST_SHELF_MIN} to {LONGEST_SHELF_MIN})
        <input
          name="minutes"
          type="number"
          inputMode="numeric"
          min={SHORTEST_SHELF_MIN}
          max={LONGEST_SHELF_MIN}
          step={1}
          required
          value="10"
        />
      </label>
    </ActForm>
  );
}

function Unshelve({ alarm, zone }: { alarm: AlarmView; zone: string }) {
  const act = useAct();
  return (
    <div class="act">
      <PressButton
        off={false}
        busy={act.busy}
        onPress={() => void act.send({ type: 'unshelve', alarm: alarm.id }, 'it is off the shelf')}
      >
        Unshelve
      </PressButton>
      <Said act={act} zone={zone} />
    </div>
  );
}

function ResetWithReason({ alarm, zone }: { alarm: AlarmView; zone: string }) {
  return (
    <ActForm
      title="Reset with a reason"
      confirm="Confirm: reset"
      zone={zone}
      reasonLabel="How it is known that it is over (goes on record)"
      done="it is reset"
      command={(reason) => ({ type: 'reset', alarm: alarm.id, reason })}
    >
      <p class="note">Nothing that the monitor sent says that it is over. Only what somebody saw or heard can.</p>
    </ActForm>
  );
}

function TakeOut({ alarm, zone }: { alarm: AlarmView; zone: string }) {
  const scopes = scopesOf(alarm);
  if (scopes.length === 0) return null;
  return (
    <ActForm
      title="Out of service"
      confirm="Confirm: out of service"
      zone={zone}
      reasonLabel="Why (goes on record)"
      done="out of service until somebody puts it back"
      command={(reason, form) => {
        const field = form.elements.namedItem('scope');
        const scope = field instanceof HTMLSelectElement ? field.value : 'monitor';
        const { monitor, sensor, setPoint } = alarm;
        return {
          type: 'out-of-service',
          monitor,
          out: true,
          reason,
          ...(scope !== 'monitor' && sensor !== undefined ? { sensor } : {}),
          ...(scope === 'set-point' && setPoint !== undefined ? { setPoint: setPoint.id } : {}),
        };
      }}
    >
      <p class="note">
        No time ends this: it does not sound until somebody puts it back in service. What is protected goes on sounding.
      </p>
      <label>
        What
        <select name="scope">
          {scopes.map(({ scope, words }) => (
            <option key={scope} value={scope}>
              {words}
            </option>
          ))}
        </select>
      </label>
    </ActForm>
  );
}
