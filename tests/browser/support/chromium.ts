/** Which browser is driven, and how it is started; shared by the tests and the pictures. */

/** No sandbox: containers seldom allow it. The rest keeps Chromium from calling anybody. */
export const BROWSER_ARGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
] as const;

/** Path of a Chromium: UPWIND_CHROMIUM (`npm test` sets it), or Debian's. */
export function browserPath(): string {
  return process.env.UPWIND_CHROMIUM ?? process.env.CHROMIUM ?? '/usr/bin/chromium';
}
