import { byId } from '../../panel/page/element.js';

const CLOSEST = 12;
const STEP = 1.5;

/** The picture: fingers or wheel bring it closer, a finger or arrows move it. */
export function makePictureView(): { show(svg: string | null): void } {
  const figure = byId('picture');
  const frame = byId('pictureFrame');
  const image = byId('pictureImage') as HTMLImageElement;
  let [scale, x, y] = [1, 0, 0];
  const fingers = new Map<number, { x: number; y: number }>();

  const apply = (): void => {
    const { width, height } = frame.getBoundingClientRect();
    scale = Math.min(CLOSEST, Math.max(1, scale));
    x = Math.min(0, Math.max(width * (1 - scale), x));
    y = Math.min(0, Math.max(height * (1 - scale), y));
    image.style.transform = `translate(${x}px, ${y}px) scale(${scale})`;
    // As a whole it scrolls with the page.
    frame.style.touchAction = scale === 1 ? 'pan-y' : 'none';
  };
  /** Closer by a factor, the point at (px, py) of the frame staying where it is. */
  const zoom = (factor: number, px: number, py: number): void => {
    const next = Math.min(CLOSEST, Math.max(1, scale * factor));
    x = px - (px - x) * next / scale;
    y = py - (py - y) * next / scale;
    scale = next;
    apply();
  };
  const middle = (): [number, number] => {
    const { width, height } = frame.getBoundingClientRect();
    return [width / 2, height / 2];
  };
  const inFrame = ({ clientX, clientY }: PointerEvent | WheelEvent): { x: number; y: number } => {
    const { left, top } = frame.getBoundingClientRect();
    return { x: clientX - left, y: clientY - top };
  };
  frame.addEventListener('pointerdown', (event) => {
    fingers.set(event.pointerId, inFrame(event));
    frame.setPointerCapture(event.pointerId);
  });
  for (const end of ['pointerup', 'pointercancel'] as const) frame.addEventListener(end, (event) => fingers.delete(event.pointerId));
  frame.addEventListener('pointermove', (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const now = inFrame(event);
    const other = [...fingers].find(([id]) => id !== event.pointerId)?.[1];
    if (other) {
      const apart = (p: { x: number; y: number }): number => Math.max(1, Math.hypot(p.x - other.x, p.y - other.y));
      zoom(apart(now) / apart(before), (now.x + other.x) / 2, (now.y + other.y) / 2);
    } else {
      x += now.x - before.x;
      y += now.y - before.y;
      apply();
    }
    fingers.set(event.pointerId, now);
  });
  frame.addEventListener('wheel', (event) => {
    if (!event.ctrlKey && scale === 1) return;
    event.preventDefault();
    const { x: px, y: py } = inFrame(event);
    zoom(event.deltaY < 0 ? STEP : 1 / STEP, px, py);
  }, { passive: false });
  frame.addEventListener('keydown', (event) => {
    const moves: Readonly<Record<string, () => void>> = {
      '+': () => zoom(STEP, ...middle()), '-': () => zoom(1 / STEP, ...middle()),
      ArrowLeft: () => { x += 40; }, ArrowRight: () => { x -= 40; }, ArrowUp: () => { y += 40; }, ArrowDown: () => { y -= 40; },
    };
    const move = moves[event.key];
    if (!move || (scale === 1 && event.key.startsWith('Arrow'))) return;
    event.preventDefault();
    move();
    apply();
  });
  byId('pictureIn').addEventListener('click', () => zoom(STEP, ...middle()));
  byId('pictureOut').addEventListener('click', () => {
    scale = 1;
    apply();
  });
  let address: string | null = null;
  return {
    show(svg) {
      if (address !== null) URL.revokeObjectURL(address);
      address = svg === null ? null : URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
      figure.hidden = address === null;
      if (address !== null) image.src = address;
      else image.removeAttribute('src');
    },
  };
}
