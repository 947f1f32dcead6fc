import { ARCMINUTE } from '../../geometry/angle.js';
import { angleWords, plusMinus } from '../../geometry/angleWords.js';
import type { Frame } from '../../frames/frame.js';
import type { LearnedKnobs } from '../../knobs/learnedKnobs.js';
import type { KeptPicture } from '../../night/record/entry.js';
import type { Session } from '../../night/record/session.js';
import { happenedWords } from '../../night/happenings.js';
import type { LookTold, Story } from '../../night/record/story.js';
import { type Backdrop, type EncodeJpeg, encodeCells } from '../../picture/encodeCells.js';
import { frameCells, shareLit } from '../../picture/frameCells.js';
import type { FrameMarks } from '../../picture/frameMarks.js';
import { readMarks } from '../../picture/readMarks.js';
import { type ReportLook, type ReportSection, type ReportTable, reportPage } from '../../picture/reportPage.js';
import type { PlannedBudget } from '../budget/budgetPlan.js';
import { budgetText } from '../budget/budgetText.js';
import type { RigInForce } from '../given/rigInForce.js';
import { signed } from '../words/numberWords.js';
import { knobSection } from './knobSection.js';
import { place, sinceText, standing, lookText } from './logText.js';

/** Looks that get a picture: a page with more opens slowly on a phone. */
const MOST_PICTURES = 12;
/** Cells along the longer side of a frame. */
const MOST_CELLS = 760;
const JPEG_QUALITY = 72;
/** So many of the brightest recorded stars are looked for, and this share must be found, or the file is another frame by now. */
const STARS_ASKED = 20;
const STILL_THERE = 0.6;

/** What a report shows beside the session. */
export interface ReportRequest {
  /** What the turns of this and earlier nights have shown of the knobs. */
  readonly learned: LearnedKnobs;
  readonly rigFile: RigInForce | null;
  /** The budget of the planned run; null without one. */
  readonly planned: PlannedBudget | null;
  /** Dim red. */
  readonly night: boolean;
  /** Of the program. */
  readonly version: string;
}

/** What a report needs from outside. */
export interface ReportMeans {
  /** The frame behind a look; null where it can't be had. */
  frameOf(kept: KeptPicture): Promise<Frame | null>;
  readonly encode: EncodeJpeg;
  /** Called, and waited for, before each picture: how many are begun, of how many. */
  drawing(begun: number, of: number): Promise<void>;
}

export interface Report {
  readonly html: string;
  readonly pictures: number;
  /** Number of pictures that had to be drawn without their frame. */
  readonly missing: number;
}

/** The session as one page. */
export async function reportOf(session: Session, story: Story, request: ReportRequest, means: ReportMeans): Promise<Report> {
  const { night, rigFile, version } = request;
  const drawn = new Set(worthDrawing(story.looks));
  const looks: ReportLook[] = [];
  for (const [i, look] of story.looks.entries()) {
    const marks = drawn.has(look) ? readMarks(look.picture?.marks) : null;
    if (marks) await means.drawing(looks.filter((l) => l.picture).length + 1, drawn.size);
    looks.push({
      story: lookText(look, i + 1),
      warnings: look.warnings.map((w) => w.message),
      picture: marks && await pictureOf(look.picture!, marks, night, means),
    });
  }
  const since = sinceText(story);
  if (since !== '') looks.push({ story: since, warnings: [], picture: null });
  const html = reportPage({
    title: `Polar alignment, ${session.start.at.slice(0, 10)}`,
    standing: standing(story).split('\n'),
    chart: story.looks.flatMap(({ error, sigma, utc, happened }) => (error && sigma ? [{
      separationArcmin: error.separationArcmin, sigmaArcmin: sigma.separationArcmin, says: timeOf(utc).slice(0, 5),
      how: happened?.what === 'knob' ? 'recheck' as const : 'rotation' as const,
    }] : [])),
    figures: figuresOf(story),
    looks, sections: sectionsOf(request), night,
    foot: [
      place(session.start) + (rigFile ? `, rig ${rigFile.rig.name ?? 'without a name'}` : ''),
      'Signs: altitude + = the axis is too high; azimuth + = it is too far east, as the knob\'s angle about the vertical. ± is one '
        + 'sigma. Times are UTC.',
      'The uncertainty includes stars, catalogue, air and polar motion. It does not include a camera that sags as the mount turns.',
      `Made by poleward ${version} from the session's record.`,
    ],
  });
  const pictures = looks.flatMap((l) => (l.picture ? [l.picture] : []));
  return { html, pictures: pictures.length, missing: pictures.filter((p) => p.backdrop === null).length };
}

/** The looks with pictures if they are few; else the first and the last ones. */
function worthDrawing(looks: readonly LookTold[]): LookTold[] {
  const drawable = looks.filter((l) => l.picture !== null);
  return drawable.length <= MOST_PICTURES ? drawable : [drawable[0]!, ...drawable.slice(1 - MOST_PICTURES)];
}

/** The frame behind the marks if it is still the one that was measured. */
async function pictureOf(
  kept: KeptPicture, marks: FrameMarks, night: boolean, means: ReportMeans,
): Promise<NonNullable<ReportLook['picture']>> {
  const without = (note: string): NonNullable<ReportLook['picture']> => ({ marks, backdrop: null, note });
  const frame = await means.frameOf(kept);
  if (!frame) return without('The frame is not where it was, so only the recognised stars are drawn.');
  const { image, pixelOffset, firstRowBottom } = frame;
  const same = image.width === marks.width && image.height === marks.height
    && shareLit(image, pixelOffset, marks.stars.slice(0, STARS_ASKED)) >= STILL_THERE;
  if (!same) return without('The file of that name is another picture now, so only the recognised stars are drawn.');
  const backdrop: Backdrop = await encodeCells(
    frameCells(image, MOST_CELLS, firstRowBottom, pixelOffset), night, means.encode, JPEG_QUALITY,
  );
  return { marks, backdrop, note: null };
}

function figuresOf({ looks, aim }: Story): ReportTable {
  const angle = (value: number | null | undefined, sigma: number | null | undefined, withSign: boolean): string => {
    if (value === undefined || sigma === undefined) return '';
    if (value === null || sigma === null) return 'site unknown';
    const text = angleWords(value * ARCMINUTE, sigma * ARCMINUTE);
    return `${withSign ? signed(text) : text} ${plusMinus(sigma * ARCMINUTE)}`;
  };
  return {
    head: ['UTC', 'before it', 'altitude', 'azimuth', 'distance', 'pole'],
    rows: looks.map(({ utc, happened, error, sigma }) => [
      timeOf(utc), happened ? happenedWords(happened) : '',
      angle(error?.altitudeArcmin, sigma?.altitudeArcmin, true), angle(error?.azimuthArcmin, sigma?.azimuthArcmin, true),
      angle(error?.separationArcmin, sigma?.separationArcmin, false), aim,
    ]),
  };
}

function sectionsOf({ learned, rigFile, planned }: ReportRequest): ReportSection[] {
  const knobs = knobSection(learned, rigFile?.rig ?? null);
  if (!planned) return [knobs];
  return [
    {
      title: 'What this is good for: the planned run', text: budgetText(planned), lines: planned.warnings.map((w) => w.message),
      table: null,
    },
    knobs,
  ];
}

function timeOf(iso: string): string {
  return new Date(iso).toISOString().slice(11, 19);
}
