const KEPT = 'poleward-step';
const STEPS = 5;
const FIRST = 3;

/** Five steps of brightness; the choice is kept for the next time this page opens. */
export function makeBrightness(root: HTMLElement, darker: HTMLButtonElement, lighter: HTMLButtonElement): void {
  let step = FIRST;
  try {
    const kept = Number(localStorage.getItem(KEPT));
    if (Number.isInteger(kept) && kept >= 1 && kept <= STEPS) step = kept;
  } catch {
    // Storage may be forbidden; then each opening begins with the middle step.
  }
  const apply = (next: number): void => {
    step = Math.min(STEPS, Math.max(1, next));
    root.dataset['step'] = `${step}`;
    darker.ariaLabel = `darker, now step ${step} of ${STEPS}`;
    lighter.ariaLabel = `lighter, now step ${step} of ${STEPS}`;
    // Not `disabled`: that would lose the keyboard focus.
    darker.ariaDisabled = `${step === 1}`;
    lighter.ariaDisabled = `${step === STEPS}`;
  };
  const choose = (next: number): void => {
    apply(next);
    try {
      localStorage.setItem(KEPT, `${step}`);
    } catch {
      // See above.
    }
  };
  apply(step);
  darker.addEventListener('click', () => choose(step - 1));
  lighter.addEventListener('click', () => choose(step + 1));
}
