import { byId, made } from '../../panel/page/element.js';
import { type Rig, parseRig } from '../../knobs/rig.js';
import {
  type QuantityName, writtenAngle, writtenClockAhead, writtenNear, writtenQuantity, writtenTimes, writtenZoneOrName,
} from '../../tasks/given/written.js';
import { FIRST_SETTINGS, type PlaceFrom, type Settings } from '../keep/settings.js';
import { rigForm } from './rigForm.js';
import { button, check, field, fieldset, pair, readForm, textOf, written } from './fields.js';

/** What the setup page does. */
export interface SetupDeeds {
  set(change: Partial<Settings>): void;
}

const PLACE_WORDS: Readonly<Record<PlaceFrom | 'nobody', string>> = {
  nobody: 'Needed where frames carry no place.',
  typed: 'You typed this place. It counts before that in frames.',
  'this device': 'This place is from this device. That in frames counts before it.',
};

/**
 * The settings as a form; each change holds at once. The form is built once and later settings are written into its fields, so
 * that no field is replaced while it is used.
 */
export function makeSetup(deeds: SetupDeeds): { show(settings: Settings): void } {
  let settings = FIRST_SETTINGS;
  const form = made('form', '') as HTMLFormElement;
  const fault = made('p', 'fault');
  fault.role = 'alert';
  const text = (name: string, label: string, help?: string): HTMLElement => field({ name, label, value: '', ...(help ? { help } : {}) });
  const number = (name: string, label: string, help?: string): HTMLElement =>
    field({ name, label, value: '', numeric: true, ...(help ? { help } : {}) });
  const site = made('div', '');
  const located = made('p', 'help');
  form.append(
    fault,
    fieldset(
      'place',
      text('latitude', 'latitude, °', 'north positive: 39.2 or 39 12 N'),
      text('longitude', 'longitude, °', 'east positive: -3.4 or 3 24 W'),
      number('elevation', 'elevation, m'),
      site,
      'geolocation' in navigator && window.isSecureContext ? button('use this device\'s place', () => locate(deeds, located)) : null,
      located,
      pair(number('pressure', 'pressure, hPa'), number('temperature', 'temperature, °C')),
    ),
    fieldset(
      'time',
      text('zone', 'zone of the camera\'s clock',
        `Europe/Madrid or +01:00, for frames that carry none; this device's is ${Intl.DateTimeFormat().resolvedOptions().timeZone}`),
      text('ahead', 'camera\'s clock is ahead by', '+HH:MM or +HH:MM:SS, zone not counted; − if it is behind'),
      text('nextTimes', 'start of the next exposures',
        'for frames without a time: UTC, in the order of their names: 2026-11-25T20:00:00,…'),
      check('fileTimes', 'for frames without a time, take the file\'s as the end of the exposure', false),
    ),
    fieldset(
      'camera',
      pair(number('focal', 'focal length, mm'), number('pixel', 'pixel size, µm')),
      text('near', 'where frames look', 'right ascension, hours, and declination: 5.6,-5.4; or pole'),
      made('p', 'help', 'None is needed. Each makes it quicker to recognise a frame.'),
    ),
    fieldset(
      'goal',
      number('limit', 'limit, ′', 'good enough within this; if empty, the rig\'s limit, else what its planned run allows, else 1′'),
      field({
        name: 'aim', label: 'aim', value: '',
        choices: [['refracted', 'refracted pole: as seen through the air'], ['true', 'true pole: as without air']],
      }),
    ),
  );
  form.addEventListener('submit', (event) => event.preventDefault());
  form.addEventListener('change', () => readForm(form, (message) => { fault.textContent = message; }, () => {
    const change = settingsIn(form, settings);
    if (change) deeds.set(change);
  }));
  const rig = made('div', '');
  byId('setup').replaceChildren(form, rig);
  const shown = new Map<string, string>();
  /** Whether a value is new. A field keeps what was typed and could not be kept until its setting changes. */
  const isNews = (name: string, value: string): boolean => shown.get(name) !== value && Boolean(shown.set(name, value));
  return {
    show(next) {
      settings = next;
      const { place } = settings;
      located.textContent = PLACE_WORDS[place?.from ?? 'nobody'];
      if (isNews(' rig', JSON.stringify(settings.rig))) rig.replaceChildren(rigForm(settings.rig, (other) => deeds.set({ rig: other })));
      const sites = siteChoices(settings);
      if (isNews(' sites', JSON.stringify(sites))) {
        shown.delete('site');
        site.replaceChildren(...(sites.length === 0 ? [] : [
          field({ name: 'site', label: 'site of the rig', value: '', choices: sites }),
        ]));
      }
      for (const [name, value] of Object.entries(fieldTexts(settings))) {
        const input = form.elements.namedItem(name);
        const news = isNews(name, String(value));
        if (!news) continue;
        if (typeof value === 'boolean') (input as HTMLInputElement).checked = value;
        else if (input instanceof HTMLInputElement || input instanceof HTMLSelectElement) input.value = value;
      }
    },
  };
}

/** The text of each field; a field may be absent. */
function fieldTexts(settings: Settings): Readonly<Record<string, string | boolean>> {
  const { place } = settings;
  const text = (value: number | string | null | undefined): string => (value === null || value === undefined ? '' : `${value}`);
  return {
    latitude: text(place?.latitudeDeg), longitude: text(place?.longitudeDeg), elevation: text(place?.elevationMetres),
    site: text(settings.site), pressure: text(settings.pressureHectopascal), temperature: text(settings.temperatureCelsius),
    zone: text(settings.zone), ahead: aheadText(settings.clockAheadSeconds), nextTimes: text(settings.nextTimes),
    fileTimes: settings.fileTimes, focal: text(settings.focalLengthMillimetres), pixel: text(settings.pixelSizeMicrometres),
    near: text(settings.near), limit: text(settings.limitArcmin), aim: settings.aim,
  };
}

/** The rig's sites and what holds where none is chosen; empty where the rig has none. */
function siteChoices(settings: Settings): (readonly [value: string, words: string])[] {
  const rig = rigOf(settings);
  const sites = Object.keys(rig?.sites ?? {});
  if (sites.length === 0) return [];
  const none = settings.place ? 'the place above' : sites.length === 1 && !rig?.site ? sites[0]! : 'none of them';
  return [['', none], ...sites.map((name) => [name, name] as const)];
}

/** What is in the form; null while a place is half written. */
function settingsIn(form: HTMLFormElement, before: Settings): Partial<Settings> | null {
  const number = (field: string, name: QuantityName): number | null => written(form, field, (text) => writtenQuantity(name, text));
  const angle = (name: string, most: number): number | null => written(form, name, (text) => writtenAngle(name, most, text));
  /** As written, where it can be read. */
  const kept = (name: string, read: (text: string) => unknown): string | null => written(form, name, (text) => (read(text), text));
  const [latitude, longitude] = [angle('latitude', 90), angle('longitude', 360)];
  const elevationMetres = number('elevation', 'elevation');
  if ((latitude === null) !== (longitude === null)) return null;
  const typed = latitude === null || longitude === null ? null : { latitudeDeg: latitude, longitudeDeg: longitude, elevationMetres };
  const same = typed && before.place && typed.latitudeDeg === before.place.latitudeDeg && typed.longitudeDeg === before.place.longitudeDeg;
  const site = textOf(form, 'site') || null;
  // A chosen site replaces a typed place, which would count before it.
  const chosen = site !== null && site !== before.site;
  return {
    place: chosen ? null : typed && { ...typed, from: same ? before.place!.from : 'typed' }, site: typed && !chosen ? null : site,
    pressureHectopascal: number('pressure', 'pressure'), temperatureCelsius: number('temperature', 'temperature'),
    zone: kept('zone', writtenZoneOrName), clockAheadSeconds: written(form, 'ahead', writtenClockAhead),
    nextTimes: kept('nextTimes', writtenTimes), near: kept('near', writtenNear),
    focalLengthMillimetres: number('focal', 'focal length'), pixelSizeMicrometres: number('pixel', 'pixel size'),
    limitArcmin: number('limit', 'limit'), aim: textOf(form, 'aim') === 'true' ? 'true' : 'refracted',
    fileTimes: (form.elements.namedItem('fileTimes') as HTMLInputElement).checked,
  };
}

/** The rig that is kept, which was checked before. */
function rigOf({ rig }: Settings): Rig | null {
  return rig ? parseRig(rig.text, rig.name) : null;
}

/** "+01:00", "-00:00:12.5" */
function aheadText(seconds: number | null): string {
  if (seconds === null) return '';
  const size = Math.abs(seconds);
  const two = (value: number): string => String(value).padStart(2, '0');
  const rest = size % 60;
  const more = rest === 0 ? '' : `:${rest < 10 ? '0' : ''}${Number(rest.toFixed(3))}`;
  return `${seconds < 0 ? '-' : '+'}${two(Math.floor(size / 3600))}:${two(Math.floor(size / 60) % 60)}${more}`;
}

/** The device is asked once, on a tap. */
function locate(deeds: SetupDeeds, said: HTMLElement): void {
  said.textContent = 'Asking this device for its place …';
  navigator.geolocation.getCurrentPosition(({ coords }) => {
    const rounded = (value: number): number => Math.round(value * 1e4) / 1e4;
    deeds.set({
      place: {
        latitudeDeg: rounded(coords.latitude), longitudeDeg: rounded(coords.longitude),
        elevationMetres: coords.altitude === null ? null : Math.round(coords.altitude), from: 'this device',
      },
    });
  }, () => {
    said.textContent = 'This device does not tell where it is. Type latitude and longitude.';
  }, { enableHighAccuracy: true, timeout: 30_000, maximumAge: 600_000 });
}
