import { leave, mayNow, session } from '../access/session.ts';
import type { Store } from '../feed/store.ts';
import { SoundControl } from '../sound/sound-control.tsx';
import { MoreLinks } from './more-links.tsx';
import { go, type Route, route } from './routes.ts';
import { switchTheme, theme } from './theme.ts';

function NavLink({ to, here, children }: { to: string; here: boolean; children: string }) {
  return (
    <a class="nav-link" href={to} {...(here ? { 'aria-current': 'page' as const } : {})}>
      {children}
    </a>
  );
}

/** Pages that stand behind "More" on a narrow screen, as they are named there. */
const FURTHER: Readonly<Partial<Record<Route['page'], string>>> = {
  desk: 'Desk',
  'set-points': 'Set-points',
  calculator: 'Calculator',
};

/** Daylight or night in one tap. */
export function ThemeSwitch() {
  return (
    <button type="button" class="button plain" onClick={switchTheme}>
      {theme.value === 'day' ? 'Night view' : 'Daylight view'}
    </button>
  );
}

/** Name of the incident, the main pages, the look, and who is here. */
export function TopBar({ store }: { store: Store }) {
  const { page } = route.value;
  const head = store.head.value;
  const is = session.value;
  return (
    <header class="top-bar">
      <p class="incident">
        <span class="soft">Upwind</span> {head?.incident?.name ?? ''}
      </p>
      <nav aria-label="Pages">
        <NavLink to="/" here={page === 'board'}>
          Board
        </NavLink>
        <NavLink to="/alarms" here={page === 'alarms'}>
          Alarms
        </NavLink>
        <NavLink to="/map" here={page === 'map'}>
          Map
        </NavLink>
        <MoreLinks here={FURTHER[page]}>
          {mayNow('type-for-teams') && (
            <NavLink to="/desk" here={page === 'desk'}>
              Desk
            </NavLink>
          )}
          <NavLink to="/set-points" here={page === 'set-points'}>
            Set-points
          </NavLink>
          <NavLink to="/calculator" here={page === 'calculator'}>
            Calculator
          </NavLink>
        </MoreLinks>
      </nav>
      <div class="top-end">
        <SoundControl />
        <ThemeSwitch />
        {is && is.by !== 'demo' && (
          <>
            <span class="who-here">
              {is.name}, {is.role}
            </span>
            <button
              type="button"
              class="button plain"
              onClick={async () => {
                const answer = await leave();
                if (answer.ok) go('/login');
              }}
            >
              Leave
            </button>
          </>
        )}
        {is?.by === 'demo' && (
          <NavLink to="/login" here={false}>
            Log in
          </NavLink>
        )}
      </div>
    </header>
  );
}
