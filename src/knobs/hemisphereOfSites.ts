interface Placed {
  readonly latitudeDeg: number;
}

/** The hemisphere of a rig file's own site, else that of all its named ones; null where it has none or they are on both sides. */
export function hemisphereOfSites(
  { site, sites }: { readonly site?: Placed; readonly sites?: Readonly<Record<string, Placed>> },
): 1 | -1 | null {
  const latitudes = (site ? [site] : Object.values(sites ?? {})).map(({ latitudeDeg }) => latitudeDeg);
  const north = latitudes.some((latitude) => latitude > 0), south = latitudes.some((latitude) => latitude < 0);
  return north === south ? null : north ? 1 : -1;
}
