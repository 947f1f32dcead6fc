/**
 * Keeps the screen on. Browsers give their screen wake lock (W3C) only to pages from https or this computer; elsewhere a black film of a
 * few pixels plays, and meanwhile most browsers keep the screen on as well.
 *
 * @param said shows a sentence about the state; '' for none
 */
export function makeAwake(button: HTMLButtonElement, said: (sentence: string) => void): void {
  let wanted = true;
  let lock: WakeLockSentinel | null = null;
  let film: HTMLVideoElement | null = null;

  const shown = (): void => {
    const held = lock !== null || film !== null;
    button.ariaPressed = `${held}`;
    said(wanted && !held ? 'This browser may let the screen go dark: touch "stay on", or lengthen the screen\'s time-out.' : '');
  };
  const hold = async (): Promise<void> => {
    if (!wanted || document.visibilityState !== 'visible' || lock || film) return;
    try {
      if (!('wakeLock' in navigator)) throw new Error('no wake lock');
      const held = await navigator.wakeLock.request('screen');
      lock = held;
      held.addEventListener('release', () => {
        if (lock === held) lock = null;
        shown();
      });
    } catch {
      film = await startFilm();
    }
    shown();
  };
  const release = (): void => {
    void lock?.release();
    lock = null;
    film?.remove();
    film = null;
    shown();
  };
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') void hold();
    else release();
  });
  button.addEventListener('click', () => {
    if (lock || film) {
      wanted = false;
      release();
    } else {
      wanted = true;
      void hold();
    }
  });
  void hold();
}

/** Null where the browser does not play it. */
async function startFilm(): Promise<HTMLVideoElement | null> {
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = 16;
  const brush = canvas.getContext('2d');
  if (!brush || !('captureStream' in canvas)) return null;
  const film = document.createElement('video');
  film.muted = film.playsInline = true;
  film.ariaHidden = 'true';
  film.className = 'unseen';
  film.srcObject = canvas.captureStream(1);
  document.body.append(film);
  // A film that never changes has no frames.
  const drawing = setInterval(() => {
    if (film.isConnected) brush.fillRect(0, 0, 16, 16);
    else clearInterval(drawing);
  }, 1000);
  brush.fillRect(0, 0, 16, 16);
  try {
    await film.play();
    return film;
  } catch {
    film.remove();
    return null;
  }
}
