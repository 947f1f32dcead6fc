const KEPT = 'poleward-theme';

/** Red on black, unless the person has chosen the day's colours. */
export function makeTheme(root: HTMLElement, button: HTMLButtonElement, changed: () => void): { isDay(): boolean } {
  let day = false;
  try {
    day = localStorage.getItem(KEPT) === 'day';
  } catch {
    // Storage may be forbidden; then each opening begins in the dark.
  }
  const apply = (): void => {
    root.dataset['theme'] = day ? 'day' : 'dark';
    button.ariaPressed = `${day}`;
    document.querySelector('meta[name="theme-color"]')?.setAttribute('content', day ? '#fbfaf7' : '#000000');
  };
  apply();
  button.addEventListener('click', () => {
    day = !day;
    apply();
    try {
      localStorage.setItem(KEPT, day ? 'day' : 'dark');
    } catch {
      // See above.
    }
    changed();
  });
  return { isDay: () => day };
}
