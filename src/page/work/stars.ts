import { type Catalogue, parseCatalogue } from '../../sky/catalogue.js';
import { type SkyCatalogue, type StarCatalogue, openSkyCatalogue } from '../../sky/catalogueSky.js';
import type { Assets } from './assets.js';

/** The star catalogue as the page has it: what is near the poles at once, the rest of the sky when a frame needs it. */
export interface Stars {
  near(): Promise<Catalogue>;
  /** Does work that may need all of the sky. Where it does for the first time that is had, and the work begun anew. */
  serve<T>(work: (stars: StarCatalogue) => Promise<T>): Promise<T>;
}

/** Work needs the stars of the whole sky, which are not here yet. */
class SkyWanted extends Error {}

/** @param coming told when the whole sky is waited for */
export function starsFrom(assets: Assets, coming: () => void): Stars {
  let near: Promise<Catalogue> | null = null;
  let sky: SkyCatalogue | null = null;
  const nearPoles = (): Promise<Catalogue> => {
    near ??= assets.bytes('stars').then(parseCatalogue);
    // One that could not be had is asked for again.
    near.catch(() => { near = null; });
    return near;
  };
  const whole = (): SkyCatalogue => {
    if (!sky) throw new SkyWanted();
    return sky;
  };
  return {
    near: nearPoles,
    async serve(work) {
      const stars = { ...await nearPoles(), whole };
      try {
        return await work(stars);
      } catch (error) {
        if (!(error instanceof SkyWanted)) throw error;
        coming();
        sky = openSkyCatalogue(await assets.bytes('sky'), await nearPoles());
        return work(stars);
      }
    },
  };
}
