/** Where the page is. The server gives the same page for each of these paths. */
import { type ReadonlySignal, signal } from '@preact/signals';

export type Route =
  | { readonly page: 'board' | 'alarms' | 'map' | 'desk' | 'set-points' | 'calculator' | 'login' | 'wall' | 'unknown' }
  | { readonly page: 'monitor'; readonly id: string }
  | { readonly page: 'first'; readonly code: string };

/** Reads a path and its query. */
export function readRoute(pathname: string, search: string): Route {
  const monitor = /^\/monitor\/([^/]+)$/.exec(pathname)?.[1];
  if (monitor !== undefined) {
    try {
      return { page: 'monitor', id: decodeURIComponent(monitor) };
    } catch {
      return { page: 'unknown' };
    }
  }
  switch (pathname) {
    case '/':
      return { page: 'board' };
    case '/alarms':
      return { page: 'alarms' };
    case '/map':
      return { page: 'map' };
    case '/desk':
      return { page: 'desk' };
    case '/set-points':
      return { page: 'set-points' };
    case '/calculator':
      return { page: 'calculator' };
    case '/login':
      return { page: 'login' };
    case '/wall':
      return { page: 'wall' };
    case '/first':
      return { page: 'first', code: new URLSearchParams(search).get('code') ?? '' };
    default:
      return { page: 'unknown' };
  }
}

const current = signal<Route>({ page: 'board' });
export const route: ReadonlySignal<Route> = current;

function look(): void {
  current.value = readRoute(location.pathname, location.search);
}

/** Goes to a path of this page. */
export function go(path: string): void {
  if (path !== location.pathname + location.search) history.pushState(null, '', path);
  look();
  window.scrollTo(0, 0);
}

/** Path of a monitor's own page. */
export function monitorPath(id: string): string {
  return `/monitor/${encodeURIComponent(id)}`;
}

/** Follows the browser's own buttons, and links inside the page without loading it anew. */
export function followLinks(): void {
  look();
  window.addEventListener('popstate', look);
  document.addEventListener('click', (event) => {
    if (event.defaultPrevented || event.button !== 0) return;
    if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    const link = event.target instanceof Element ? event.target.closest('a[href]') : null;
    if (!(link instanceof HTMLAnchorElement) || link.target !== '' || link.origin !== location.origin) return;
    if (readRoute(link.pathname, link.search).page === 'unknown') return;
    event.preventDefault();
    go(link.pathname + link.search);
  });
}
