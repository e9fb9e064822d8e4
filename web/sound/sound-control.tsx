/** One button for sound: off, it turns it on; on, it opens what can be set. */
import { useSignal } from '@preact/signals';
import { useEffect, useId, useRef } from 'preact/hooks';
import { PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import { BY_RANK } from './calls.ts';
import { LOUDEST } from './player.ts';
import { sound } from './sound.ts';

/** After a reload any press will do: it is the browser that needs one, not the person who is asked again. */
function usePressAnywhere(): void {
  useEffect(() => {
    const press = (event: Event) => {
      if (sound.state.peek() !== 'press-needed') return;
      if (event.target instanceof Element && event.target.closest('.sound-control')) return;
      sound.turnOn();
    };
    document.addEventListener('click', press, true);
    document.addEventListener('keyup', press, true);
    return () => {
      document.removeEventListener('click', press, true);
      document.removeEventListener('keyup', press, true);
    };
  }, []);
}

export function SoundControl() {
  usePressAnywhere();
  const isOpen = useSignal(false);
  const id = useId();
  const button = useRef<HTMLButtonElement>(null);
  const isOn = sound.state.value === 'on';
  const press = () => {
    if (isOn) isOpen.value = !isOpen.value;
    else sound.turnOn();
  };
  const close = () => {
    isOpen.value = false;
    button.current?.focus();
  };
  return (
    <div class="sound-control">
      <button
        ref={button}
        type="button"
        class="button plain"
        onClick={press}
        {...(isOn ? { 'aria-expanded': isOpen.value, 'aria-controls': id } : {})}
      >
        {isOn ? (
          'Sound on'
        ) : (
          <>
            <Shape of="caution" />
            Sound off: turn on
          </>
        )}
      </button>
      {isOn && isOpen.value && <SoundPanel id={id} onClose={close} />}
    </div>
  );
}

function SoundPanel({ id, onClose }: { id: string; onClose: () => void }) {
  useEffect(() => {
    const closeByKey = (event: KeyboardEvent) => {
      if (event.key === 'Escape') onClose();
    };
    document.addEventListener('keydown', closeByKey);
    return () => document.removeEventListener('keydown', closeByKey);
  });
  return (
    <section class="sound-panel" id={id} aria-label="Sound of this screen">
      <label>
        Volume, {sound.volume.value} of {LOUDEST}
        <input
          type="range"
          min="1"
          max={LOUDEST}
          step="1"
          value={sound.volume.value}
          onInput={(event) => sound.setVolume(event.currentTarget.valueAsNumber)}
        />
      </label>
      <p class="soft">Hear them once, to know them apart:</p>
      <div class="sound-tests">
        {BY_RANK.map((priority) => (
          <button key={priority} type="button" class="button" onClick={() => sound.tryOut(priority)}>
            <Shape of={priority} />
            {PRIORITY_WORD[priority]}
          </button>
        ))}
      </div>
      <div class="sound-end">
        <button
          type="button"
          class="button"
          onClick={() => {
            onClose();
            sound.turnOff();
          }}
        >
          Turn sound off
        </button>
        <button type="button" class="button plain" onClick={onClose}>
          Close
        </button>
      </div>
    </section>
  );
}
