import { parseDay } from '../../frames/dateText.js';
import { byId, made } from '../../panel/page/element.js';
import type { Planned, RunAsked, SheetAsked, VerifyAsked } from '../work/planWork.js';
import { FieldFault, button, check, field, fieldset, numberOf, pair, readForm, textOf } from './fields.js';

/** What the plan's forms ask for. */
export interface PlanDeeds {
  budget(run: RunAsked): Promise<Planned>;
  prepare(asked: SheetAsked): Promise<Planned>;
  verify(files: readonly File[], asked: VerifyAsked): Promise<Planned>;
  /** Words of an error, for the person. */
  worded(error: unknown): string;
}

/** The plan: what a run allows, the sheet for tonight, and what tracked frames show. */
export function makePlan(deeds: PlanDeeds): void {
  byId('plan').replaceChildren(budgetForm(deeds), sheetForm(deeds), verifyForm(deeds));
}

const number = (name: string, label: string, help?: string, value = ''): HTMLLabelElement =>
  field({ name, label, value, numeric: true, ...(help ? { help } : {}) });

function budgetForm(deeds: PlanDeeds): HTMLFormElement {
  return form('budget', 'a planned run', [
    pair(number('declination', 'declination, °'), number('hourAngle', 'hour angle at the start, h', 'west positive')),
    pair(number('hours', 'length, h'), number('exposure', 'exposure, s')),
    check('guided', 'guided', false),
    pair(number('guideOffset', 'guide star from the centre, °'), number('limit', 'longest trail, px', 'else 1')),
    field({ name: 'sensor', label: 'frame size, px', value: '', help: '6000x4000; needed for a guided run' }),
    pair(
      number('altitudeError', 'altitude error, ′', 'else the open night\'s'), number('azimuthError', 'azimuth error, ′', '+ too far east'),
    ),
  ], 'check this run', (f) => {
    const needed = (name: string, range: readonly [number, number], called: string): number => {
      const value = numberOf(f, name, range, called);
      if (value === null) throw new FieldFault(name, `The ${called} is needed. Write it.`);
      return value;
    };
    const run: RunAsked = {
      declinationDeg: needed('declination', [-90, 90], 'declination'), hourAngleHours: needed('hourAngle', [-24, 24], 'hour angle'),
      hours: needed('hours', [0.001, 24], 'length of the run'), exposureSeconds: needed('exposure', [0.001, 86400], 'exposure'),
      guided: (f.elements.namedItem('guided') as HTMLInputElement).checked,
      guideOffsetDeg: numberOf(f, 'guideOffset', [0, 60], 'guide star\'s offset'),
      limitPixels: numberOf(f, 'limit', [0.001, 1000], 'limit'), sensor: sizeOf(f),
      altitudeErrorArcmin: numberOf(f, 'altitudeError', [-1800, 1800], 'altitude error'),
      azimuthErrorArcmin: numberOf(f, 'azimuthError', [-1800, 1800], 'azimuth error'),
    };
    return deeds.budget(run);
  }, deeds);
}

function sheetForm(deeds: PlanDeeds): HTMLFormElement {
  return form('prepare', 'tonight, before dark', [
    field({ name: 'date', label: 'evening of', value: '', help: 'YYYY-MM-DD, else tonight' }),
    pair(number('aperture', 'aperture, mm'), field({ name: 'sensor', label: 'frame size, px', value: '', help: '6000x4000' })),
    pair(number('exposure', 'exposure, s', 'else one is suggested'), number('precision', 'uncertainty, ″', 'else 6')),
    pair(number('payload', 'payload, kg'), number('capacity', 'mount rated for, kg')),
  ], 'make the sheet', (f) => {
    const text = textOf(f, 'date');
    const date = text === '' ? null : parseDay(text);
    if (text !== '' && (date === null || !/^\d{4}-/.test(text))) {
      throw new FieldFault('date', `"${text}" is not a date. Write it like 2026-11-25.`);
    }
    return deeds.prepare({
      date, sensor: sizeOf(f), apertureMillimetres: numberOf(f, 'aperture', [1, 5000], 'aperture'),
      exposureSeconds: numberOf(f, 'exposure', [0.001, 600], 'exposure'),
      precisionArcsec: numberOf(f, 'precision', [0.05, 3600], 'precision'),
      payloadKilograms: numberOf(f, 'payload', [0.01, 2000], 'payload'),
      capacityKilograms: numberOf(f, 'capacity', [0.1, 2000], 'capacity'),
    });
  }, deeds);
}

function verifyForm(deeds: PlanDeeds): HTMLFormElement {
  const files = field({ name: 'frames', label: 'two or more frames of one field', value: '' });
  const picker = files.querySelector('input')!;
  picker.type = 'file';
  picker.multiple = true;
  return form('verify', 'tracked frames', [
    files,
    field({
      name: 'guiding', label: 'what moved the mount', value: 'unknown',
      choices: [['unknown', 'not known'], ['unguided', 'the drive alone'], ['guided', 'drive and guider']],
    }),
    pair(number('declination', 'declination, °', 'else from the frames'), number('hourAngle', 'hour angle at the first, h')),
    pair(number('exposure', 'exposure, s', 'else from the frames'), number('limit', 'longest trail, px', 'else 1')),
  ], 'verify', (f) => deeds.verify([...picker.files ?? []], {
    guiding: textOf(f, 'guiding') as VerifyAsked['guiding'], declinationDeg: numberOf(f, 'declination', [-90, 90], 'declination'),
    hourAngleHours: numberOf(f, 'hourAngle', [-24, 24], 'hour angle'), exposureSeconds: numberOf(f, 'exposure', [0.001, 86400], 'exposure'),
    limitPixels: numberOf(f, 'limit', [0.01, 1000], 'limit') ?? 1,
  }), deeds);
}

/** A form that asks for text and shows it below. */
function form(
  id: string, legend: string, fields: readonly Node[], words: string, ask: (form: HTMLFormElement) => Promise<Planned>,
  { worded }: PlanDeeds,
): HTMLFormElement {
  const whole = made('form', '') as HTMLFormElement;
  whole.id = id;
  const fault = made('p', 'fault');
  fault.role = 'alert';
  const answer = made('pre', 'answer');
  answer.tabIndex = 0;
  answer.role = 'region';
  answer.ariaLabel = legend;
  answer.hidden = true;
  const say = (message: string): void => { fault.textContent = message; };
  whole.addEventListener('submit', (event) => {
    event.preventDefault();
    readForm(whole, say, () => void ask(whole).then(({ text, warnings }) => {
      answer.hidden = false;
      answer.textContent = [text, ...warnings.map((w) => `warning: ${w}`)].join('\n\n');
      say('');
    }, (error: unknown) => {
      answer.hidden = true;
      say(worded(error));
    }));
  });
  whole.append(fieldset(legend, ...fields, button(words, () => {}, 'submit'), fault, answer));
  return whole;
}

function sizeOf(form: HTMLFormElement): { width: number; height: number } | null {
  const text = textOf(form, 'sensor');
  if (text === '') return null;
  const match = /^(\d{2,5})\s*[x×]\s*(\d{2,5})$/i.exec(text);
  const [width, height] = [Number(match?.[1]), Number(match?.[2])];
  if (width >= 32 && height >= 32 && width * height <= 1.5e8) return { width, height };
  throw new FieldFault('sensor', `"${text}" is not a size from 32x32 to 150 megapixels. Write it like 6000x4000.`);
}
