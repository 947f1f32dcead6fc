import { type Catalogue, parseCatalogue } from '../../sky/catalogue.js';
import { type SkyCatalogue, type StarCatalogue, openSkyCatalogue } from '../../sky/catalogueSky.js';
import type { Assets } from './assets.js';

/** The star catalogue as the page has it: stars near the poles at once, those of the whole sky when a frame needs them. */
export interface Stars {
  near(): Promise<Catalogue>;
  /** Does work that may need the whole sky's stars. When it first needs them they are loaded and the work begins again. */
  serve<T>(work: (stars: StarCatalogue) => Promise<T>): Promise<T>;
}

/** Work needs the stars of the whole sky, which are not loaded. */
class SkyWanted extends Error {}

/** @param coming called when the whole sky is being loaded */
export function starsFrom(assets: Assets, coming: () => void): Stars {
  let near: Promise<Catalogue> | null = null;
  let sky: SkyCatalogue | null = null;
  const nearPoles = (): Promise<Catalogue> => {
    near ??= assets.bytes('stars').then(parseCatalogue);
    // After a failure it is asked for again.
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
