import { type Note } from './tone.js';

/** Plays notes once it was switched on; browsers allow that only by a touch. */
export function makeSound(): { toggle(): boolean; play(notes: readonly Note[]): void } {
  let context: AudioContext | null = null;
  return {
    toggle() {
      if (context) {
        void context.close();
        context = null;
      } else {
        context = new AudioContext();
        void context.resume();
      }
      return context !== null;
    },
    play(notes) {
      if (!context) return;
      for (const { hertz, from, lasts } of notes) {
        const begin = context.currentTime + 0.02 + from;
        const tone = context.createOscillator();
        const level = context.createGain();
        tone.frequency.value = hertz;
        // Quiet, and without the clicks of a note that is cut off.
        level.gain.setValueAtTime(0, begin);
        level.gain.linearRampToValueAtTime(0.2, begin + 0.02);
        level.gain.setValueAtTime(0.2, begin + lasts - 0.03);
        level.gain.linearRampToValueAtTime(0, begin + lasts);
        tone.connect(level).connect(context.destination);
        tone.start(begin);
        tone.stop(begin + lasts);
      }
    },
  };
}
