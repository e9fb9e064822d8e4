/** The two cookies of the post, read and written by hand: values are base64url and need no decoding. */
export const SESSION_COOKIE = 'upwind_session';
export const WALL_COOKIE = 'upwind_wall';

/** The value of the cookie `name` in a Cookie header (RFC 6265 5.4), or null. */
export function readCookie(header: string, name: string): string | null {
  for (const pair of header.split(';')) {
    const [key, value] = pair.trim().split('=', 2);
    if (key === name && value !== undefined && value !== '') return value;
  }
  return null;
}

/** A Set-Cookie header that no script can read and no other site can send. `maxAgeS` 0 takes the cookie away. */
export function writeCookie(name: string, value: string, options: { maxAgeS: number; secure: boolean }): string {
  const parts = [`${name}=${value}`, 'Path=/', `Max-Age=${options.maxAgeS}`, 'HttpOnly', 'SameSite=Strict'];
  if (options.secure) parts.push('Secure');
  return parts.join('; ');
}
