import type { KnobName } from '../../knobs/rig.js';
import { type PracticeMount, practiceMount, withFrame, withKnobTurned, withTurn } from '../../simulate/practiceMount.js';
import { type PracticePlace, nextMidnight, practiceFrame, practiceTruth } from '../../tasks/simulate/practiceFrame.js';
import { inMemory } from '../keep/database.js';
import type { Settings } from '../keep/settings.js';
import type { PageShown } from '../messages.js';
import { type NightMeans, NightWork } from './nightWork.js';

/** A mount is not turned and photographed again sooner than this after a frame, ms: at the page it takes a second. */
const BETWEEN_FRAMES = 45_000;
/** The place of practice where none is set. */
const SOMEWHERE = { latitudeDeg: 45, longitudeDeg: 10, elevationMetres: null };

/** Practice by daylight: a virtual mount whose frames go into a night of their own, which is not kept. */
export class PracticeWork {
  private mount: PracticeMount;
  private readonly place: PracticePlace;
  private readonly opened = Date.now();
  /** When the last frame was saved, by the practice night's clock. */
  private last = -Infinity;
  readonly nights: NightWork;

  constructor(private readonly means: NightMeans, settings: Settings, seed: string) {
    this.mount = practiceMount(seed);
    const place = settings.place ?? SOMEWHERE;
    this.place = { ...place, begun: nextMidnight(place.longitudeDeg, new Date(this.opened)) };
    this.nights = new NightWork({ ...means, database: inMemory(), changed: () => {} });
  }

  turnKnob(knob: KnobName, turns: number): void {
    this.mount = withKnobTurned(this.mount, knob, turns);
  }

  /** About the right-ascension axis, degrees, west positive. */
  turn(degrees: number): void {
    this.mount = withTurn(this.mount, degrees);
  }

  /** Saves a frame, as the camera of a mount does, and takes it into the night. */
  async saveFrame(): Promise<PageShown> {
    this.means.progress('frames rendered', 0, 1);
    await this.means.rests.rest();
    this.last = Math.max(this.place.begun.getTime() + Date.now() - this.opened, this.last + BETWEEN_FRAMES);
    const { name, bytes } = practiceFrame(this.mount, this.place, new Date(this.last), await this.means.stars.near());
    this.mount = withFrame(this.mount);
    return this.nights.take([new File([bytes as Uint8Array<ArrayBuffer>], name)], 'picked');
  }

  truth(): string[] {
    return practiceTruth(this.mount);
  }
}
