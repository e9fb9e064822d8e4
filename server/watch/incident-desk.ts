/**
 * Which record is open: what a commander orders, the incident that a first danger alarm opens by itself, and a new
 * standby file each day. One change of journals at a time; each looks at what is open when its turn comes.
 */
import type { Logger } from 'pino';
import type { Changes } from '../../shared/incident/changes.ts';
import { type PostTime, toIso } from '../../shared/incident/time.ts';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import type { PostClock } from '../journal/post-clock.ts';
import type { Switch } from './open-incident.ts';
import { createTakeCommand, type TakeCommand } from './take-command.ts';
import type { Watch } from './watch.ts';

export type IncidentDesk = {
  readonly takeCommand: TakeCommand;
  /** Hears of every change: the first danger alarm of a real monitor opens an incident. */
  openWhenDanger(changes: Changes): void;
  /** Begins a new standby file when the day has changed. */
  rollStandby(): void;
  beginStandby(failure: string): void;
  /** Resolves when no change is under way. */
  settled(): Promise<void>;
};

export function createIncidentDesk(deps: {
  readonly watch: Watch;
  readonly clock: PostClock;
  /** Zone of a record that nothing else says one for. */
  readonly zone: string;
  readonly log: Logger;
  readonly change: (wanted: Switch) => Promise<CommandAnswer>;
}): IncidentDesk {
  const { watch, clock, zone, log, change } = deps;
  let switching: Promise<CommandAnswer> | null = null;

  function changeInTurn(wanted: () => Switch | CommandAnswer): Promise<CommandAnswer> {
    const before = switching ?? Promise.resolve<CommandAnswer>({ status: 'done' });
    const mine = before
      .catch(() => undefined)
      .then(async () => {
        const next = wanted();
        return 'status' in next ? next : change(next);
      });
    switching = mine;
    void mine
      .catch(() => undefined)
      .then(() => {
        if (switching === mine) switching = null;
      });
    return mine;
  }

  const takeCommand = createTakeCommand(watch, {
    open: (request) =>
      changeInTurn(() => {
        const open = watch.state().journal;
        const purpose = request.exercise ? 'exercise' : 'incident';
        if (open?.purpose === 'incident' || (open?.purpose === 'exercise' && request.exercise)) {
          return { status: 'refused', code: 'incident-open', message: `${open.name} is open: close it first` };
        }
        return {
          purpose,
          name: request.name,
          by: request.by,
          why: request.why,
          zone: request.zone ?? open?.zone ?? zone,
          command: request.command,
          closing:
            open?.purpose === 'exercise'
              ? { by: request.by, why: `a real incident began: ${request.name}` }
              : undefined,
        };
      }),
    close: (request) =>
      changeInTurn(() => {
        const open = watch.state().journal;
        if (open === null || open.purpose === 'standby') {
          return { status: 'refused', code: 'none-open', message: 'No incident is open' };
        }
        const { by, why, command } = request;
        return { purpose: 'standby', name: 'Standby', by, zone: open.zone, command, closing: { by, why } };
      }),
  });

  function openWhenDanger(changes: Changes): void {
    if (watch.state().journal?.purpose !== 'standby' || switching !== null) return;
    const danger = changes.events.find(
      (event) =>
        event.type === 'alarm' &&
        (event.change === 'raised' || event.change === 'again') &&
        event.priority === 'danger' &&
        watch.state().monitors.get(event.monitor)?.simulated !== true,
    );
    if (danger === undefined || danger.type !== 'alarm') return;
    const label = toIso(danger.at, watch.state().wallOffsetMs).slice(0, 16).replace('T', ' ');
    const why = `opened by itself at the first danger alarm: ${danger.entrant ?? danger.monitor}, ${danger.words}`;
    changeInTurn(() => {
      const open = watch.state().journal;
      if (open?.purpose !== 'standby') return { status: 'already' };
      return { purpose: 'incident', name: `Incident of ${label} UTC`, by: 'post', why, zone: open.zone };
    }).catch((error: unknown) => log.error({ err: error }, 'an incident could not be opened by itself'));
  }

  function rollStandby(): void {
    const { journal: open, wallOffsetMs } = watch.state();
    if (open?.purpose !== 'standby' || switching !== null) return;
    const day = (at: PostTime) => toIso(at, wallOffsetMs).slice(0, 10);
    if (day(open.openedAt) === day(clock.now()) || day(watch.journal().head().at) === day(open.openedAt)) return;
    beginStandby('a new standby day could not be begun');
  }

  function beginStandby(failure: string): void {
    const shown = watch.state().journal?.zone ?? zone;
    changeInTurn(() => ({ purpose: 'standby', name: 'Standby', by: 'post', zone: shown })).catch((error: unknown) =>
      log.error({ err: error }, failure),
    );
  }

  return {
    takeCommand,
    openWhenDanger,
    rollStandby,
    beginStandby,
    settled: async () => {
      await switching?.catch(() => undefined);
    },
  };
}
