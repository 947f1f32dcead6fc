import type { FrameDecoders } from '../../frames/decoders.js';
import type { Frame } from '../../frames/frame.js';
import { aimOf, entriesOf } from '../../night/record/entry.js';
import { nightAsRecorded } from '../../night/record/nightOfSession.js';
import { tellStory } from '../../night/record/story.js';
import { readMarks } from '../../picture/readMarks.js';
import { rigName } from '../../tasks/given/rigInForce.js';
import { reportOf } from '../../tasks/log/report.js';
import { answerPicture } from '../../tasks/measure/answerPicture.js';
import { knobsLearned } from '../../tasks/measure/guidance.js';
import { sessionOf } from '../keep/keptNight.js';
import { encodeJpeg } from './encodeJpeg.js';
import type { NightWork } from './nightWork.js';
import { frameOfFile } from './readFile.js';
import type { Rests } from './rests.js';

/** What drawing needs from outside. */
export interface PictureMeans {
  readonly decoders: FrameDecoders;
  readonly rests: Rests;
  readonly version: string;
  progress(what: string, done: number, of: number): void;
}

/** The newest answer's frame with its marks, as an SVG file; null where there is none, or the frame is no longer at hand. */
export async function newestPicture(work: NightWork, { decoders }: PictureMeans, red: boolean): Promise<string | null> {
  const kept = await work.open();
  const session = kept && sessionOf(kept);
  const answer = session && entriesOf(session.recorded, 'answer').at(-1)?.entry;
  if (!kept || !answer?.picture) return null;
  const { database } = work;
  const drawn = await database.get<{ utc: string; red: boolean; svg: string }>('pictures', kept.name);
  if (drawn && drawn.utc === answer.utc && drawn.red === red) return drawn.svg;
  const marks = readMarks(answer.picture.marks);
  const frame = await frameAgain(work, answer.picture.frame, decoders);
  // A picture in the other colours is better than none.
  if (!marks || !frame) return drawn?.utc === answer.utc ? drawn.svg : null;
  const svg = await answerPicture(frame, marks, red, encodeJpeg);
  await database.put('pictures', kept.name, { utc: answer.utc, red, svg });
  return svg;
}

/** The night as one page to keep; null without a night. */
export async function nightReport(work: NightWork, means: PictureMeans, red: boolean): Promise<{ name: string; html: string } | null> {
  const kept = await work.open();
  const session = kept && sessionOf(kept);
  if (!session) return null;
  const given = work.given(session);
  const rig = rigName(given.rigFile);
  const earlier = await work.adjustments(session.path, rig, session.start.hemisphere);
  const story = tellStory(session.recorded, nightAsRecorded(session), aimOf(session.recorded));
  const { html } = await reportOf(session, story, {
    planned: null, rigFile: given.rigFile, night: red, version: means.version,
    learned: knobsLearned({ session, earlier }, given.rigFile?.rig ?? null),
  }, {
    encode: encodeJpeg, frameOf: (picture) => frameAgain(work, picture.frame, means.decoders),
    async drawing(begun, of) {
      means.progress('drawing', begun, of);
      await means.rests.rest();
    },
  });
  return { name: `${session.path}.html`, html };
}

async function frameAgain(work: NightWork, name: string, decoders: FrameDecoders): Promise<Frame | null> {
  const file = work.files.get(name);
  if (!file) return null;
  try {
    return await frameOfFile(file, decoders, {});
  } catch {
    // A frame that can't be read must not cost the report.
    return null;
  }
}
