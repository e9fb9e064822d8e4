/** Why something offered was not recorded. Callers answer 503 with Retry-After; nothing of it was acknowledged. */
export type NotRecordableCode = 'full' | 'read-only' | 'io' | 'corrupt' | 'busy' | 'stopped';

const WORDS: Readonly<Record<NotRecordableCode, string>> = {
  full: 'The disk is full: nothing is being recorded',
  'read-only': 'The journal cannot be written: nothing is being recorded',
  io: 'Writing the journal failed: nothing is being recorded',
  corrupt: 'The journal is damaged: nothing is being recorded',
  busy: 'Too much is waiting to be recorded',
  stopped: 'The post is shutting down',
};

export class NotRecordable extends Error {
  override name = 'NotRecordable';
  readonly code: NotRecordableCode;
  /** Seconds after which trying again makes sense. */
  readonly retryAfterS: number;
  constructor(code: NotRecordableCode, retryAfterS: number) {
    super(WORDS[code]);
    this.code = code;
    this.retryAfterS = retryAfterS;
  }
}
