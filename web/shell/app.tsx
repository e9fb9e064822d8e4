/** Chooses the page, and keeps the live feed open exactly while somebody may look. */
import { useEffect } from 'preact/hooks';
import { FirstPage } from '../access/first-page.tsx';
import { LoginPage } from '../access/login-page.tsx';
import { PairPage } from '../access/pair-page.tsx';
import { refreshSession, session } from '../access/session.ts';
import { BoardPage } from '../board/board-page.tsx';
import { connect } from '../feed/connection.ts';
import type { Store } from '../feed/store.ts';
import { sound } from '../sound/sound.ts';
import { LazyPage } from './lazy-page.tsx';
import { LiveShell } from './live-shell.tsx';
import { go, route } from './routes.ts';

const loadAlarms = () => import('../alarms/alarms-page.tsx').then((module) => module.AlarmsPage);
const loadMap = () => import('../map/map-page.tsx').then((module) => module.MapPage);
const loadCalculator = () => import('../calculator/calculator-page.tsx').then((module) => module.CalculatorPage);
const loadDesk = () => import('../desk/desk-page.tsx').then((module) => module.DeskPage);
const loadSetPoints = () => import('../set-points/set-points-page.tsx').then((module) => module.SetPointsPage);
const loadMonitor = () => import('../monitor/monitor-page.tsx').then((module) => module.MonitorPage);

/** The post's answer to who this is must not hold up the next try to connect. */
const ASK_AT_MOST_MS = 2000;

async function mayGoOn(): Promise<boolean> {
  const late = new Promise<null>((resolve) => setTimeout(() => resolve(null), ASK_AT_MOST_MS));
  const answer = await Promise.race([refreshSession(), late]);
  return answer === null || answer.ok || answer.status !== 401;
}

export function App({ store }: { store: Store }) {
  const now = route.value;
  const looks = session.value !== null;
  const open = now.page === 'login' || now.page === 'first';

  useEffect(() => {
    if (!looks || open) return;
    const connection = connect(store, mayGoOn, sound);
    return () => connection.close();
  }, [store, looks, open]);

  const lost = !looks && !open && now.page !== 'wall';
  useEffect(() => {
    if (lost) go('/login');
  }, [lost]);

  if (now.page === 'login') return <LoginPage />;
  if (now.page === 'first') return <FirstPage code={now.code} />;
  if (now.page === 'wall' && !looks) return <PairPage />;
  if (!looks) return null;
  return (
    <LiveShell store={store} wall={now.page === 'wall'}>
      <Page store={store} />
    </LiveShell>
  );
}

function Page({ store }: { store: Store }) {
  const now = route.value;
  switch (now.page) {
    case 'alarms':
      return <LazyPage load={loadAlarms} props={{ store }} />;
    case 'map':
      return <LazyPage load={loadMap} props={{ store }} />;
    case 'calculator':
      return <LazyPage load={loadCalculator} props={{}} />;
    case 'desk':
      return <LazyPage load={loadDesk} props={{ store }} />;
    case 'set-points':
      return <LazyPage load={loadSetPoints} props={{ store }} />;
    case 'monitor':
      return <LazyPage key={now.id} load={loadMonitor} props={{ store, id: now.id }} />;
    case 'wall':
      return <BoardPage store={store} wall />;
    case 'board':
      return <BoardPage store={store} />;
    default:
      return (
        <main class="page-words">
          <h1>There is no such page</h1>
          <a class="button" href="/">
            To the board
          </a>
        </main>
      );
  }
}
