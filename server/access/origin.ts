/**
 * Keeps other sites' pages from acting with a visitor's cookie. Browsers send Origin with every request of another
 * site that could change something and with every WebSocket (RFC 6455 10.2, Fetch standard), and no page can forge it.
 */
import type { IncomingHttpHeaders } from 'node:http';
import { isLoopback } from '../config.ts';

export type OriginRules = { secure: boolean; allowedOrigins: readonly string[] };

/** Whether `origin` is the one this post serves under the Host it was asked by, or one listed; exact, scheme included. */
export function isOwnOrigin(origin: string, host: string | undefined, rules: OriginRules): boolean {
  if (rules.allowedOrigins.includes(origin)) return true;
  return host !== undefined && origin === `${rules.secure ? 'https' : 'http'}://${host.toLowerCase()}`;
}

/** Whether a request that changes something may go on as far as its origin tells. */
export function mayChange(headers: IncomingHttpHeaders, rules: OriginRules): boolean {
  if (headers.origin !== undefined) return isOwnOrigin(headers.origin, headers.host, rules);
  const site = headers['sec-fetch-site'];
  return site === undefined || site === 'same-origin' || site === 'none';
}

/**
 * Whether Host names this machine. What is open on loopback must not be open under a name of somebody else's that was
 * made to point here (DNS rebinding).
 */
export function isLoopbackHost(host: string | undefined): boolean {
  if (host === undefined || !URL.canParse(`http://${host}`)) return false;
  return isLoopback(new URL(`http://${host}`).hostname.replace(/^\[|\]$/g, ''));
}
