/** A page that is fetched when it is first needed, so that the board is there sooner. */
import { useSignal } from '@preact/signals';
import type { ComponentType } from 'preact';
import { useEffect } from 'preact/hooks';

type Props<P> = { load: () => Promise<ComponentType<P>>; props: P };

export function LazyPage<P>({ load, props }: Props<P>) {
  const page = useSignal<{ load: unknown; component: ComponentType<P> } | null>(null);
  const failed = useSignal(false);
  useEffect(() => {
    let wanted = true;
    failed.value = false;
    load().then(
      (component) => {
        if (wanted) page.value = { load, component };
      },
      () => {
        if (wanted) failed.value = true;
      },
    );
    return () => {
      wanted = false;
    };
  }, [load, page, failed]);
  if (failed.value) {
    return (
      <main class="page-words">
        <div role="alert">
          <h1>This page could not be fetched</h1>
          <p>The post did not give it. The board itself goes on.</p>
        </div>
        <a class="button" href="/">
          To the board
        </a>
      </main>
    );
  }
  // From one such page to another: the one of before must not be drawn with what belongs to the next.
  if (page.value?.load !== load) return <main class="page-words">Fetching the page…</main>;
  const Component = page.value.component;
  return <Component {...(props as P & object)} />;
}
