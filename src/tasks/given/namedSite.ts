import { PolewardError } from '../../error.js';
import type { Sourced } from '../../frames/frame.js';
import type { Rig, RigSite } from '../../knobs/rig.js';
import { rigByHand } from '../../knobs/rigFacing.js';
import { printable } from '../../printable.js';
import type { RigInForce } from './rigInForce.js';

/**
 * The rig at the site of its file that was chosen by name; without a name at its own site, or at the only named one.
 *
 * @throws PolewardError `bad-option` where no site has that name
 */
export function atSite(found: RigInForce | null, name: Sourced<string> | undefined): RigInForce | null {
  const sites = Object.entries(found?.rig.sites ?? {});
  if (name === undefined) {
    const [only, ...more] = sites;
    const taken = found && !found.rig.site && only && more.length === 0;
    return taken ? { ...found, siteName: only[0], rig: { ...found.rig, site: only[1] } } : found;
  }
  const wanted = sites.find(([key]) => key.toLowerCase() === name.value.trim().toLowerCase());
  if (found && wanted) return { ...found, siteName: wanted[0], rig: { ...elsewhere(found.rig, wanted[1]), site: wanted[1] } };
  const there = found === null
    ? 'there is no rig file. Make one with the sites in it'
    : sites.length === 0
      ? 'the rig file names no sites. Put them under "sites", each by its name'
      : `the rig file names ${sites.map(([key]) => printable(key)).join(', ')}. Choose one of these`;
  throw new PolewardError('bad-option', `The site "${printable(name.value)}" is not known: ${there}.`);
}

/** For a site in the other hemisphere the knobs are described by left and right: east and west in the file hold for its own site. */
function elsewhere(rig: Rig, { latitudeDeg }: RigSite): Rig {
  return latitudeDeg * (rig.site?.latitudeDeg ?? latitudeDeg) < 0 ? rigByHand(rig) : rig;
}
