/** The examples at the end of each command's help. They work as they are; those on practice frames follow the first one. */
export const EXAMPLES: Readonly<Record<string, readonly string[]>> = {
  simulate: ['simulate --out practice'],
  measure: ['measure practice/frame-1.fits practice/frame-2.fits'],
  recheck: [
    'simulate --out turned --azimuth-error 0 --rotations 70 --time 2026-11-25T20:02:00',
    'recheck turned/frame-1.fits --session practice/poleward-session.jsonl',
  ],
  watch: ['watch practice --all'],
  log: ['log --session practice/poleward-session.jsonl'],
  inspect: ['inspect practice/frame-1.fits'],
  rig: ['rig practice'],
  page: ['page --out poleward-page'],
  verify: [
    'simulate --target 41,-1 --out tracked',
    'verify tracked/frame-1.fits tracked/frame-2.fits tracked/frame-6.fits',
  ],
  prepare: ['prepare --latitude 47.3 --longitude 8.6'],
  budget: [
    'budget --latitude 47.3 --declination 41 --hour-angle -2 --hours 4 --exposure 180 --focal-length 480 --pixel-size 3.76 '
    + '--sensor 6248x4176 --altitude-error 2 --azimuth-error -1',
  ],
};

const PRACTICE = 'with the frames of "poleward simulate --out practice"';

/** What must have been done before an example. */
const NEEDS: Readonly<Record<string, string>> = {
  measure: PRACTICE, watch: PRACTICE, inspect: PRACTICE, recheck: 'after the example of measure: the azimuth knob was turned by 20′',
  log: 'after the example of measure',
};

/** The words of an example for the help of a command. */
export function exampleHelp(command: string): string {
  const lines = EXAMPLES[command];
  if (!lines) return '';
  const needs = NEEDS[command];
  return `\nExample${needs ? `, ${needs}` : ''}:\n${lines.map((line) => `  poleward ${line}`).join('\n')}`;
}
