import type { KnobTurned } from '../knobs/learnedKnobs.js';
import { byId } from '../panel/page/element.js';
import { makeAwake } from '../panel/page/awake.js';
import { makeBrightness } from '../panel/page/brightness.js';
import { makeSound } from '../panel/page/sound.js';
import { notesFor } from '../panel/page/tone.js';
import { packedHere, startWorker } from './assets.js';
import type { CameBy, PageShown } from './messages.js';
import { makeOffline } from './offline/offline.js';
import { makeBench } from './show/bench.js';
import { type Client, WorkFailed, clientOf } from './show/client.js';
import { download } from './show/download.js';
import { makeFolderButton } from './show/folderButton.js';
import { makeParts } from './show/parts.js';
import { makePlan } from './show/planView.js';
import { makePictureView } from './show/pictureView.js';
import { showLog } from './show/showLog.js';
import { showNight, showTold } from './show/showNight.js';
import { makeSetup } from './show/setupView.js';
import { makeTheme } from './show/theme.js';

const button = (id: string): HTMLButtonElement => byId(id) as HTMLButtonElement;
const input = (id: string): HTMLInputElement => byId(id) as HTMLInputElement;

makeBrightness(document.documentElement, button('darker'), button('lighter'));
makeAwake(button('awake'), (sentence) => { byId('screen').textContent = sentence; });
const theme = makeTheme(document.documentElement, button('day'), () => void draw());
const parts = makeParts();
const picture = makePictureView();
const sound = makeSound();
let shown: PageShown | null = null;

function play(): void {
  const panel = shown?.night.panel;
  if (panel) sound.play(notesFor(panel.off?.arcmin ?? null, panel.off?.limitArcmin ?? 1, panel.trouble !== null));
}

button('sound').addEventListener('click', () => {
  button('sound').ariaPressed = `${sound.toggle()}`;
  play();
});

/** How often turns were said. Only the reply to the last one is shown. */
let turnsSaid = 0;

/** Shows at once what was turned and keeps it a little later, so that quick taps add up. */
function sayTurned(turned: readonly KnobTurned[]): void {
  if (!shown) return;
  const mine = ++turnsSaid;
  shown = { ...shown, night: { ...shown.night, turned } };
  showNight(shown.night, sayTurned);
  client.ask('turned', turned).then((next) => { if (mine === turnsSaid) show(next); }, failed);
}

let setupMade: ReturnType<typeof makeSetup> | null = null;
function setup(): ReturnType<typeof makeSetup> {
  setupMade ??= makeSetup({ set: (change) => void run(client.ask('set', change)) });
  return setupMade;
}

/** Does work that can wait in a task of its own, so that no task is long. */
function inTurn(work: () => void): void {
  setTimeout(work, 0);
}

/** Says why work failed. */
function failed(error: unknown): void {
  if (!(error instanceof WorkFailed)) throw error;
  showTold([{ kind: error.stopped ? 'notice' : 'trouble', text: error.message }]);
}

function show(next: PageShown): void {
  shown = next;
  const { night } = next;
  const last = night.last ? `${night.last.utc.slice(11, 19)} UTC: ${night.last.taken}` : 'no frame yet';
  byId('age').textContent = next.practising ? `practice, ${last}` : last;
  showNight(night, sayTurned);
  showTold(next.told);
  showLog(night.log, next.lasting, {
    open: (name) => toNight(client.ask('openNight', name)), forget: (name) => void run(client.ask('forget', name)),
  });
  bench.show(next.practising, night.log.looks.length);
  inTurn(() => setup().show(next.settings));
  document.documentElement.dataset['looks'] = `${night.log.looks.length}`;
}

/** The picture of the newest answer, in the colours of the moment. */
async function draw(): Promise<void> {
  picture.show(shown?.night.answer ? await client.ask('picture', !theme.isDay()) : null);
}

/** Shows the result of work, or why it failed. */
async function run(work: Promise<PageShown>): Promise<boolean> {
  try {
    show(await work);
    return true;
  } catch (error) {
    failed(error);
    return false;
  }
}

/** Takes frames into the night; returns the names of those that seem incomplete. */
async function take(files: readonly File[], by: CameBy): Promise<readonly string[]> {
  if (files.length === 0) return [];
  if (by === 'picked') parts.open('night');
  if (await working(run(client.ask('take', files, by)))) play();
  await draw();
  return shown?.unfinished ?? [];
}

const client: Client = clientOf(startWorker(), packedHere, {
  progress: (what, done, of) => { byId('progress').textContent = `${what}: ${done} of ${of}`; },
  changed: (next) => {
    show({ ...next, told: shown?.told ?? [] });
    void draw();
  },
  lost: () => showTold([{ kind: 'trouble', text: 'Part of this page has stopped. Load the page again: the night is kept.' }]),
});

button('stop').addEventListener('click', () => client.stop());
input('pick').addEventListener('change', () => {
  const files = [...input('pick').files ?? []];
  input('pick').value = '';
  void take(files, 'picked');
});
button('undo').addEventListener('click', () => void run(client.ask('undo')).then(draw));
button('clearSaid').addEventListener('click', () => sayTurned([]));
/** Does work and then shows the night. */
const toNight = (work: Promise<PageShown>): void => void run(work).then(() => {
  parts.open('night');
  return draw();
});

button('newNight').addEventListener('click', () => toNight(client.ask('openNight', null)));
button('saveSession').addEventListener('click', () => void client.ask('session').then((saved) => {
  if (saved) download(saved.name, saved.text, 'application/jsonl');
}, failed));
button('saveReport').addEventListener('click', () => void working(client.ask('report', !theme.isDay())).then((saved) => {
  if (saved) download(saved.name, saved.html, 'text/html');
}, failed));
input('openSession').addEventListener('change', () => {
  const [file] = input('openSession').files ?? [];
  input('openSession').value = '';
  if (file) toNight(client.ask('openSession', file));
});

for (const kind of ['dragenter', 'dragover'] as const) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    document.body.classList.add('dropping');
  });
}
document.addEventListener('dragleave', ({ relatedTarget }) => {
  if (relatedTarget === null) document.body.classList.remove('dropping');
});
document.addEventListener('drop', (event) => {
  event.preventDefault();
  document.body.classList.remove('dropping');
  void take([...event.dataTransfer?.files ?? []], 'picked');
});

makeFolderButton({
  frames: (files) => take(files, 'folder'),
  trouble: (sentence) => showTold(sentence === null ? [] : [{ kind: 'trouble', text: sentence }]),
}, {
  // A browser that can't keep it asks again next time.
  remember: (folder) => void client.ask('rememberFolder', folder).catch(() => {}),
  last: () => client.ask('folder') as Promise<never>,
});
/** Shows the progress of long work. */
async function working<T>(work: Promise<T>): Promise<T> {
  byId('working').hidden = false;
  byId('progress').textContent = 'working';
  try {
    return await work;
  } finally {
    byId('working').hidden = true;
  }
}

const bench = makeBench({
  turn: (what, amount) => void client.ask('practiceTurn', what, amount),
  frame: () => void working(run(client.ask('practiceFrame'))).then(() => {
    // The verdict stands above the mount's controls.
    window.scrollTo(0, 0);
    return draw();
  }),
  truth: () => client.ask('practiceTruth'),
  end: () => toNight(client.ask('endPractice')),
});
// A different mount each time.
button('practise').addEventListener('click', () => toNight(client.ask('practise', `${Date.now()}`)));

inTurn(() => makePlan({
  budget: (run) => client.ask('budget', run), prepare: (asked) => working(client.ask('prepare', asked)),
  verify: (files, asked) => working(client.ask('verify', files, asked)),
  worded: (error) => (error instanceof Error ? error.message : String(error)),
}));
makeOffline((sentence) => { byId('newer').textContent = sentence; });

void run(client.ask('shown')).then(draw);
