import type { AxisError } from '../axis/axisError.js';
import { angleWords } from '../geometry/angleWords.js';

/** "east" or "west" with the hand at which that is as one faces the pole: "west, left as you face the pole". */
export function sideWords(side: 'east' | 'west', hemisphere: 1 | -1): string {
  // Facing north, east is at the right hand; facing south, at the left.
  const right = (side === 'east') === (hemisphere === 1);
  return `${side}, ${right ? 'right' : 'left'} as you face the pole`;
}

/** Where an axis is from the pole: "14.43′ too low, 24.30′ too far east". Errors and sigmas in radians. */
export function offWords({ altitude, azimuth }: AxisError, sigma: AxisError): string {
  const up = `${angleWords(Math.abs(altitude), sigma.altitude)} too ${altitude > 0 ? 'high' : 'low'}`;
  return `${up}, ${angleWords(Math.abs(azimuth), sigma.azimuth)} too far ${azimuth > 0 ? 'east' : 'west'}`;
}

/** A move of the axis by a knob, + = raised, or east as the knob's angle: "11.00′ down", "25.00′ east". */
export function moveWords(knob: 'azimuth' | 'altitude', move: number, sigma: number): string {
  const size = angleWords(Math.abs(move), sigma);
  return knob === 'azimuth' ? `${size} ${move > 0 ? 'east' : 'west'}` : `${size} ${move > 0 ? 'up' : 'down'}`;
}
