import { parseDegrees } from '../../frames/sexagesimal.js';
import { zoneMinutes } from '../../frames/dateText.js';
import { byId, made } from '../../panel/page/element.js';
import type { Settings } from '../keep/settings.js';
import { rigForm } from './rigForm.js';
import { FieldFault, button, check, field, fieldset, numberOf, pair, readForm, textOf } from './fields.js';

/** What the setup page does. */
export interface SetupDeeds {
  set(change: Partial<Settings>): void;
}

/** The settings as a form; each change holds at once. */
export function showSetup(settings: Settings, deeds: SetupDeeds): void {
  const place = byId('setup');
  const form = made('form', '') as HTMLFormElement;
  const fault = made('p', '');
  fault.role = 'alert';
  const here = settings.place;
  const number = (name: string, label: string, value: number | null, help?: string): HTMLElement =>
    field({ name, label, value: value === null ? '' : `${value}`, numeric: true, ...(help ? { help } : {}) });
  const located = made('p', 'help', here ? `This place is ${here.from}.` : 'Used where frames don\'t say where they were taken.');
  form.append(
    fault,
    fieldset(
      'place',
      field({
        name: 'latitude', label: 'latitude', value: here ? `${here.latitudeDeg}` : '', help: 'degrees, north positive: 39.2, 39 12 N',
      }),
      field({
        name: 'longitude', label: 'longitude', value: here ? `${here.longitudeDeg}` : '', help: 'degrees, east positive: -3.4, 3 24 W',
      }),
      number('elevation', 'elevation, m', here?.elevationMetres ?? null),
      'geolocation' in navigator && window.isSecureContext ? button('where this device is', () => locate(deeds, located)) : null,
      located,
      pair(
        number('pressure', 'pressure, hPa', settings.pressureHectopascal),
        number('temperature', 'temperature, °C', settings.temperatureCelsius),
      ),
    ),
    fieldset(
      'time',
      field({
        name: 'zone', label: 'zone of the camera\'s clock', value: zoneText(settings.utcOffsetMinutes),
        help: `±HH:MM east of UTC, for frames that tell none; this device's is ${zoneText(-new Date().getTimezoneOffset())}`,
      }),
      number('ahead', 'camera\'s clock ahead, s', settings.clockAheadSeconds),
      check('fileTimes', 'frames without a time take their file\'s', settings.fileTimes),
    ),
    fieldset(
      'camera',
      pair(
        number('focal', 'focal length, mm', settings.focalLengthMillimetres),
        number('pixel', 'pixel size, µm', settings.pixelSizeMicrometres),
      ),
      made('p', 'help', 'Neither is needed; both make the search quicker.'),
    ),
    fieldset(
      'goal',
      number('limit', 'good enough within, ′', settings.limitArcmin, 'else the rig\'s limit, what its planned run allows, or 1′'),
      field({
        name: 'aim', label: 'pole to align to', value: settings.aim,
        choices: [['refracted', 'refracted: where it appears'], ['true', 'true: where it is']],
      }),
    ),
  );
  form.addEventListener('submit', (event) => event.preventDefault());
  form.addEventListener('change', () => readForm(form, (message) => { fault.textContent = message; }, () => {
    const change = settingsIn(form, settings);
    if (change) deeds.set(change);
  }));
  place.replaceChildren(form, rigForm(settings.rig, (rig) => deeds.set({ rig })));
}

/** What the form says; null while a place is half written. */
function settingsIn(form: HTMLFormElement, before: Settings): Partial<Settings> | null {
  const number = (name: string, range: readonly [number, number], called: string): number | null => numberOf(form, name, range, called);
  const [latitude, longitude] = [angle(form, 'latitude', 90), angle(form, 'longitude', 360)];
  const elevationMetres = number('elevation', [-500, 9000], 'elevation');
  if ((latitude === null) !== (longitude === null)) return null;
  const typed = latitude === null || longitude === null ? null : { latitudeDeg: latitude, longitudeDeg: longitude, elevationMetres };
  const same = typed && before.place && typed.latitudeDeg === before.place.latitudeDeg && typed.longitudeDeg === before.place.longitudeDeg;
  return {
    place: typed && { ...typed, from: same ? before.place!.from : 'typed' },
    pressureHectopascal: number('pressure', [1, 1100], 'pressure'), temperatureCelsius: number('temperature', [-80, 60], 'temperature'),
    utcOffsetMinutes: zone(form), clockAheadSeconds: number('ahead', [-86400, 86400], 'clock\'s lead'),
    focalLengthMillimetres: number('focal', [1, 20000], 'focal length'), pixelSizeMicrometres: number('pixel', [0.1, 1000], 'pixel size'),
    limitArcmin: number('limit', [0.001, 600], 'limit'), aim: textOf(form, 'aim') === 'true' ? 'true' : 'refracted',
    fileTimes: (form.elements.namedItem('fileTimes') as HTMLInputElement).checked,
  };
}

function angle(form: HTMLFormElement, name: string, most: number): number | null {
  const text = textOf(form, name);
  if (text === '') return null;
  const value = parseDegrees(/^[+-]?[\d.]+$/.test(text) ? Number(text) : text);
  if (Number.isFinite(value) && Math.abs(value) <= most) return value;
  throw new FieldFault(name, `The ${name} "${text}" is no angle up to ${most}°. Write degrees, such as 39.2 or 39 12 30 N.`);
}

function zone(form: HTMLFormElement): number | null {
  const text = textOf(form, 'zone').replace('−', '-');
  if (text === '') return null;
  const minutes = zoneMinutes(text);
  if (minutes !== null) return minutes;
  throw new FieldFault('zone', `"${text}" is no zone. Write hours and minutes east of UTC, such as +02:00.`);
}

function zoneText(minutes: number | null): string {
  if (minutes === null) return '';
  const size = Math.abs(minutes);
  return `${minutes < 0 ? '-' : '+'}${String(Math.floor(size / 60)).padStart(2, '0')}:${String(size % 60).padStart(2, '0')}`;
}

/** The device is asked once, on a tap. */
function locate(deeds: SetupDeeds, said: HTMLElement): void {
  said.textContent = 'Asking this device …';
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
