import type { NetworkInterfaceInfo } from 'node:os';

/** Address blocks for private use, RFC 1918. */
const PRIVATE = /^(10\.|192\.168\.|172\.(1[6-9]|2\d|3[01])\.)/;
/** Assigned by no server, RFC 3927: such a network has no access point, but a phone on the same cable or hotspot may still reach it. */
const SELF_GIVEN = /^169\.254\./;

/** The IPv4 addresses at which others can reach this computer, likeliest first: home networks and hotspots are private ones. */
export function reachableAddresses(interfaces: NodeJS.Dict<NetworkInterfaceInfo[]>): string[] {
  const rank = (address: string): number => (PRIVATE.test(address) ? 0 : SELF_GIVEN.test(address) ? 2 : 1);
  return Object.values(interfaces).flatMap((found) => found ?? [])
    .filter(({ family, internal }) => family === 'IPv4' && !internal)
    .map(({ address }) => address)
    .sort((a, b) => rank(a) - rank(b));
}
