/** What happened to an alarm, in one line: who, what, and in whose words why. */
import type { AlarmEvent } from '../../shared/incident/events.ts';

/** "acknowledged by R. Officer: “E1 comes out”". Says nothing that the event does not hold. */
export function changeWords(event: AlarmEvent): string {
  const said = `${basicWords(event)}${event.late === true && isNews(event) ? ', learned late' : ''}`;
  return event.whileDown === true ? `${said} (came due while the post was down)` : said;
}

const isNews = ({ change }: AlarmEvent): boolean => change === 'raised' || change === 'again';

function basicWords(event: AlarmEvent): string {
  const by = event.by === undefined ? '' : ` by ${event.by}`;
  const reason = event.reason === undefined ? '' : `: “${event.reason}”`;
  switch (event.change) {
    case 'raised':
      return `raised${asideWords(event)}`;
    case 'again':
      return `came up again${asideWords(event)}`;
    case 'worse':
      return event.state === 'unacknowledged' ? 'got worse, waits for an answer' : 'got worse';
    case 'returned':
      return `its condition ended${afterReturn(event)}`;
    case 'cleared':
      return 'ended';
    case 'acknowledged':
      return `acknowledged${by}${event.decision === undefined ? '' : `: “${event.decision}”`}`;
    case 'reset':
      return `reset${by}${reason}`;
    case 'carried':
      return 'taken over from the record before';
    case 'sounds-again':
      return 'nobody answered: sounds again';
    case 'escalated':
      return 'nobody answered: escalated';
    case 'shelved':
      return `shelved${by}${reason}`;
    case 'unshelved': {
      const how =
        event.by !== undefined
          ? `taken off the shelf${by}`
          : event.reason === undefined
            ? 'its time on the shelf is up'
            : `taken off the shelf: ${event.reason}`;
      return `${how}${waitsWords(event)}`;
    }
    case 'suppressed':
      return `suppressed by design${event.reason === undefined ? '' : `: ${event.reason}`}`;
    case 'unsuppressed':
      return `no longer suppressed${event.reason === undefined ? '' : `: ${event.reason}`}${waitsWords(event)}`;
    case 'out-of-service':
      return `out of service${by}${reason}`;
    case 'in-service':
      return `back in service${by}${reason}${waitsWords(event)}`;
    case 'set-point-changed':
      return `its set-point changed${waitsWords(event)}`;
  }
}

/** What it becomes once it is put aside no more. */
function waitsWords({ state }: AlarmEvent): string {
  return state.endsWith('unacknowledged') ? ', waits for an answer' : '';
}

function asideWords({ state }: Pick<AlarmEvent, 'state'>): string {
  if (state === 'shelved') return ' on the shelf';
  if (state === 'suppressed') return ', suppressed by design';
  return state === 'out-of-service' ? ' while out of service' : '';
}

function afterReturn({ state }: AlarmEvent): string {
  if (state === 'returned-unacknowledged') return ', waits for an answer';
  if (state === 'latched-unacknowledged') return '; held until it is answered and reset';
  return state === 'latched-acknowledged' ? '; held until it is reset' : asideWords({ state });
}
