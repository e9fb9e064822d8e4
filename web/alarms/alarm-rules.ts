/** What may be done with an alarm, and where not, why not: the same rules as the post's, so that nobody asks in vain. */
import type { AlarmView } from '../../shared/protocol/board.ts';

export const SHORTEST_SHELF_MIN = 1;
export const LONGEST_SHELF_MIN = 60;

/** Why it can be neither shelved nor put out of service; null where it can. */
export function protectedWords(alarm: Pick<AlarmView, 'protected' | 'kind'>): string | null {
  if (alarm.protected !== true) return null;
  return `Neither shelved nor put out of service, ever: ${WHY[alarm.kind]}`;
}

const WHY: Readonly<Record<AlarmView['kind'], string>> = {
  down: 'somebody is down.',
  help: 'somebody calls for help.',
  'over-range': 'the true value can be anything above what the sensor can say.',
  'relay-lost': 'it stands for the silence of everybody whom that relay heard.',
  level: 'the table of set-points protects this level.',
  exposure: 'the table of set-points protects this level.',
  silent: 'its wearer is in the hot zone.',
  'not-watched': 'its wearer is in the hot zone.',
  still: 'it is protected.',
};

/** Minutes on the shelf as they were typed; null where they are none. */
export function readShelfMinutes(text: string): number | null {
  if (!/^\d{1,3}$/.test(text.trim())) return null;
  const minutes = Number(text);
  return minutes >= SHORTEST_SHELF_MIN && minutes <= LONGEST_SHELF_MIN ? minutes : null;
}

/** These are held although nothing has contradicted them: a silent monitor never will. */
const HELD_KINDS: ReadonlySet<AlarmView['kind']> = new Set(['down', 'help', 'over-range']);

/** How it is reset: `plain`, with a `reason` because nothing says yet that it is over, or not at all. */
export function resetNeeds(alarm: Pick<AlarmView, 'state' | 'kind'>): 'plain' | 'reason' | null {
  if (alarm.state === 'latched-acknowledged') return 'plain';
  return alarm.state === 'acknowledged' && HELD_KINDS.has(alarm.kind) ? 'reason' : null;
}

export type Scope = 'set-point' | 'sensor' | 'monitor';

/** What of a monitor can be put out of service because of this alarm, narrowest first. */
export function scopesOf(alarm: AlarmView): { readonly scope: Scope; readonly words: string }[] {
  if (alarm.monitor === '') return [];
  const scopes: { scope: Scope; words: string }[] = [];
  const { sensor, setPoint, monitor } = alarm;
  if (sensor !== undefined && setPoint !== undefined && alarm.kind === 'level') {
    scopes.push({ scope: 'set-point', words: `${sensor} ${setPoint.words} at ${monitor}` });
  }
  if (sensor !== undefined && sensor !== '') scopes.push({ scope: 'sensor', words: `all of ${sensor} at ${monitor}` });
  scopes.push({ scope: 'monitor', words: `the whole of ${monitor}` });
  return scopes;
}
