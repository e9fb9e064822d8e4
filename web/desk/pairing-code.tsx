import type { Store } from '../feed/store.ts';
import { type Code, leftWords, spacedCode } from './wall-screens.ts';

/** A code, large enough to be read out across a tent, and how long it is still good. */
export function PairingCode({ store, code }: { store: Store; code: Code }) {
  void store.nowMs.value; // redraws once a second
  const nowMs = performance.now();
  const over = nowMs >= code.goodUntilMs;
  return (
    <div class="desk-code">
      <p role="status">
        {over ? (
          'The code is no longer good: make another.'
        ) : (
          <>
            On the screen “{code.name}” open <b>{location.origin}/wall</b> and type
            <span class="desk-code-letters">{spacedCode(code.code)}</span>
          </>
        )}
      </p>
      {!over && (
        <p>
          Good once, for <b role="timer">{leftWords(code.goodUntilMs, nowMs)}</b>
        </p>
      )}
    </div>
  );
}
