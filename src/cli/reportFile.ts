import { dirname, extname, resolve } from 'node:path';
import { PolewardError } from '../error.js';
import { readFrame } from '../node/readFrame.js';
import { ARCMINUTE } from '../geometry/angle.js';
import { type Backdrop, encodeCells } from '../picture/encodeCells.js';
import { frameCells, shareLit } from '../picture/frameCells.js';
import type { FrameMarks } from '../picture/frameMarks.js';
import { readMarks } from '../picture/readMarks.js';
import { type ReportLook, type ReportSection, type ReportTable, reportPage } from '../picture/reportPage.js';
import { type KeptPicture, entriesOf } from '../session/entry.js';
import type { Session } from '../session/sessionFile.js';
import type { Story, StoryStep } from '../session/story.js';
import type { BudgetOptions } from './budget.js';
import type { CommonOptions } from './commonOptions.js';
import { knobsLearned } from './guidance.js';
import { type InForce, rigName } from './inForce.js';
import { knobSection } from './knobSection.js';
import { place, sinceText, standing, stepText } from './logText.js';
import { arcminutes, plusMinus, signed } from './numberWords.js';
import { endProgress, progress } from './progress.js';
import { breathe } from './interrupt.js';
import { VERSION } from './version.js';
import { checkWritable, writeWhole } from './wholeFile.js';

/** Looks that get a picture: a page with more opens slowly on a phone. */
const MOST_PICTURES = 12;
/** Cells along the longer side of a frame. */
const MOST_CELLS = 760;
const JPEG_QUALITY = 72;
/** So many of the brightest recorded stars are looked for, and this share must be there, or the file is another frame by now. */
const STARS_ASKED = 20;
const STILL_THERE = 0.6;

/** The planned run. */
type RunOptions = Omit<BudgetOptions, keyof CommonOptions | 'session'>;

/** Refuses, before any work, a report that can't be written. Throws PolewardError `bad-option`. */
export function checkReport(path: string, overwrite: boolean): void {
  if (!/^\.html?$/i.test(extname(path))) throw new PolewardError('bad-option', `The report ${path} is a web page. Give it the ending .html.`);
  checkWritable(path, overwrite);
}

/** Writes the session as one page. Returns how many pictures it has and how many of those had to do without their frame. */
export async function writeReport(
  path: string, session: Session, story: Story, options: CommonOptions & Partial<RunOptions> & InForce & { readonly overwrite?: boolean },
): Promise<{ pictures: number; missing: number }> {
  const night = options.night ?? false;
  // What is missing for the budget is said before the pictures take their time.
  const sections = await sectionsOf(session, options);
  const drawn = new Set(worthDrawing(story.steps));
  const entries = new Map(entriesOf(session.recorded, 'measurement').map(({ line, entry }) => [line, entry]));
  const looks: ReportLook[] = [];
  for (const step of story.steps) {
    const entry = entries.get(step.line)!;
    const marks = drawn.has(step) ? readMarks(entry.picture?.marks) : null;
    if (marks) progress('drawing', looks.filter((l) => l.picture).length + 1, drawn.size);
    // A frame may take a second to read: let Ctrl-C be heard between two.
    await breathe();
    looks.push({
      story: stepText(step),
      warnings: entry.measurement.warnings.map((w) => w.message),
      picture: marks && await pictureOf(session.path, entry.picture!, marks, night),
    });
  }
  endProgress();
  const since = sinceText(story);
  if (since !== '') looks.push({ story: since, warnings: [], picture: null });
  const html = reportPage({
    title: `Polar alignment, ${session.start.at.slice(0, 10)}`,
    standing: standing(story).split('\n'),
    chart: story.steps.map(({ error, sigma, utc, at, how }) => ({
      separationArcmin: error.separationArcmin, sigmaArcmin: sigma.separationArcmin, says: timeOf(utc ?? at).slice(0, 5), how,
    })),
    figures: figuresOf(story.steps),
    looks, sections, night,
    foot: [
      place(session.start) + (rigName(options.rigFile) === null ? '' : `, rig ${options.rigFile!.rig.name ?? 'without a name'}`),
      'Signs: altitude + = the axis is too high; azimuth + = it is too far east, as the knob\'s angle about the vertical. ± is one sigma. Times are UTC.',
      'The errors count stars, catalogue, air and polar motion; a camera that sags against the mount as it turns they can\'t see.',
      `Made by poleward ${VERSION} from the session's record.`,
    ],
  });
  writeWhole(path, html, options.overwrite ?? false);
  const pictures = looks.flatMap((l) => (l.picture ? [l.picture] : []));
  return { pictures: pictures.length, missing: pictures.filter((p) => p.backdrop === null).length };
}

/** All looks if they are few; else the first, the last ones, and of the rest those with rotation. */
function worthDrawing(steps: readonly StoryStep[]): StoryStep[] {
  if (steps.length <= MOST_PICTURES) return [...steps];
  const last = steps.slice(-MOST_PICTURES / 2);
  const rotations = steps.slice(1, -MOST_PICTURES / 2).filter((s) => s.how === 'rotation').slice(-(MOST_PICTURES / 2 - 1));
  return [steps[0]!, ...rotations, ...last];
}

/** The frame behind the marks if it is still the one that was measured. Nothing a frame does may cost the report. */
async function pictureOf(session: string, kept: KeptPicture, marks: FrameMarks, night: boolean): Promise<NonNullable<ReportLook['picture']>> {
  const without = (note: string): NonNullable<ReportLook['picture']> => ({ marks, backdrop: null, note });
  try {
    const frame = await readFrame(resolve(dirname(session), String(kept.frame)));
    const same = frame.image.width === marks.width && frame.image.height === marks.height
      && shareLit(frame.image, frame.pixelOffset, marks.stars.slice(0, STARS_ASKED)) >= STILL_THERE;
    if (!same) return without('The file of that name holds another picture now, so only the recognised stars are drawn.');
    const backdrop: Backdrop = await encodeCells(frameCells(frame.image, MOST_CELLS, frame.firstRowBottom, frame.pixelOffset), night, JPEG_QUALITY);
    return { marks, backdrop, note: null };
  } catch (error) {
    if (!(error instanceof PolewardError)) throw error;
    return without('The frame is not where it was, so only the recognised stars are drawn.');
  }
}

function figuresOf(steps: readonly StoryStep[]): ReportTable {
  const angle = (value: number | null, sigma: number | null, withSign: boolean): string => {
    if (value === null || sigma === null) return 'site unknown';
    const text = arcminutes(value * ARCMINUTE, sigma * ARCMINUTE);
    return `${withSign ? signed(text) : text} ${plusMinus(sigma * ARCMINUTE)}`;
  };
  return {
    head: ['UTC', 'from', 'altitude', 'azimuth', 'distance', 'pole'],
    rows: steps.map(({ utc, at, how, framesUsed, error, sigma, aim }) => [
      timeOf(utc ?? at), how === 'rotation' ? `rotation, ${framesUsed} frames` : 'one frame',
      angle(error.altitudeArcmin, sigma.altitudeArcmin, true), angle(error.azimuthArcmin, sigma.azimuthArcmin, true),
      angle(error.separationArcmin, sigma.separationArcmin, false), aim,
    ]),
  };
}

async function sectionsOf(session: Session, options: CommonOptions & Partial<RunOptions> & InForce): Promise<ReportSection[]> {
  const knobs = knobSection(knobsLearned(session, options), options.rigFile?.rig ?? null);
  const { declination, hours, exposure } = options;
  if (declination === undefined && hours === undefined && exposure === undefined) return [knobs];
  if (declination === undefined || hours === undefined || exposure === undefined) {
    throw new PolewardError('bad-option', 'The planned run is told only in part. Give --declination, --hours and --exposure together, with --hour-angle or --right-ascension and --start.');
  }
  const { budgetOf } = await import('./budgetPlan.js');
  const { budgetText } = await import('./budgetText.js');
  const planned = budgetOf({ ...options, declination, hours, exposure, refraction: options.refraction ?? true, session: session.path });
  return [
    { title: 'What this is good for: the planned run', text: budgetText(planned), lines: planned.warnings.map((w) => w.message), table: null },
    knobs,
  ];
}

function timeOf(iso: string): string {
  return new Date(iso).toISOString().slice(11, 19);
}
