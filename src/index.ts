/**
 * Poleward as a library: from frames taken near a celestial pole, with right-ascension rotation between them, to the
 * error of the mount's axis. The order of the exports is the order in which the data flows.
 */
export { PolewardError, type ErrorCode } from './error.js';

export type { Frame, FrameMetadata, Image, PixelArray, Sourced } from './frames/frame.js';
export { readFrame, type ReadFrameOptions } from './frames/readFrame.js';

export { detectStars, type DetectOptions, type Detection } from './stars/detectStars.js';
export type { DetectedStar } from './stars/star.js';

export { type Catalogue, parseCatalogue } from './sky/catalogue.js';
export { type SkyCatalogue, type SkyStars, openSkyCatalogue } from './sky/catalogueSky.js';
export { embeddedCatalogue } from './cli/embeddedCatalogue.js';
export { type Hemisphere, type LocalSky, makeLocalSky } from './sky/localSky.js';
export { type Site, type SiteGiven, makeSite } from './sky/site.js';

export { type IdentifiedStar, type Identification, identifyFrame } from './identify/identifyFrame.js';
export {
  type PlaceHints, type Recognised, type SkyMemory, atOnce, emptySkyMemory, identifyAnywhere,
} from './identify/identifyAnywhere.js';
export { type CapStars, type StarCap, hemisphereStars, regionStars, starCap } from './identify/starCap.js';
export { type Lens, toDirection, toPixel } from './identify/lens.js';
export { ACCEPTED_ODDS } from './identify/chanceOdds.js';
export { type WcsCard, worldCoordinates } from './identify/worldCoordinates.js';

export { type AxisError, axisError, axisWithError, fromHorizontal, horizontal } from './axis/axisError.js';
export { type Turns, axisFromPoses } from './axis/axisFromPoses.js';
export type { Aim, AxisResult, FrameOnAxis } from './axis/axisResult.js';
export { type AxisFrame, type AxisMeasurement, measureAxis } from './axis/measureAxis.js';
export type { MountView } from './axis/mountView.js';
export { type Recheck, recheckAxis } from './axis/recheckAxis.js';
export type { Warning, WarningCode } from './axis/warning.js';

export { type NightSpan, nightAt, nightOf } from './sky/darkness.js';
export { type MagneticNorth, magneticNorth } from './sky/magneticNorth.js';
export {
  type StarPlace, type TurningSky, apparentDirection, directionOf, guideTurn, onMount, placeOf, poleDirections,
} from './run/misalignedMount.js';
export { type GuidedTrail, type RunPlan, type UnguidedTrail, guidedTrail, runView, unguidedTrail } from './run/runTrail.js';
export { type KnobErrors, type RunBudget, runBudget } from './run/runBudget.js';
export { type Preparation, type PreparationGiven, prepareNight, preparationWarnings } from './run/preparation.js';

export { type RegisteredField, registerField } from './run/registerField.js';
export { type FieldDrift, fieldDrift } from './run/fieldDrift.js';
export { type GeometrySigma, type Guiding, type ImpliedAxis, impliedAxis } from './run/impliedAxis.js';
export { type FieldOrientation, targetPose } from './run/targetPose.js';
export { type FieldShape, fieldShape } from './run/fieldShape.js';
export { starShapes } from './stars/starShapes.js';

export { type FrameMarks, type SeenFrame, type StarGoal, frameMarks } from './picture/frameMarks.js';
export { type DialInk, type DialTurn, dialTurn, knobDial } from './picture/knobDial.js';
export { type PictureSheet, pictureSheet } from './picture/pictureSheet.js';
export { DARK_INKS, type Inks, RED_INKS } from './picture/inks.js';
