import { byId } from '../../panel/page/element.js';

/** The parts of the page, one shown at a time; the address remembers which. */
export function makeParts(): { open(part: string): void } {
  const buttons = [...document.querySelectorAll<HTMLButtonElement>('nav button[data-part]')];
  const names = buttons.map((b) => b.dataset['part']!);
  const open = (part: string): void => {
    for (const [i, name] of names.entries()) {
      byId(name).hidden = name !== part;
      if (name === part) buttons[i]!.setAttribute('aria-current', 'page');
      else buttons[i]!.removeAttribute('aria-current');
    }
  };
  const fromAddress = (): void => open(names.includes(location.hash.slice(1)) ? location.hash.slice(1) : names[0]!);
  for (const b of buttons) {
    b.addEventListener('click', () => {
      open(b.dataset['part']!);
      history.replaceState(null, '', `#${b.dataset['part']}`);
      window.scrollTo(0, 0);
    });
  }
  window.addEventListener('hashchange', fromAddress);
  fromAddress();
  return { open };
}
