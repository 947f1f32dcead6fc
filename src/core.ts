/**
 * Poleward wherever JavaScript runs: from frames taken with right-ascension rotation between them to the error of the mount's axis.
 * Pure functions over plain data, no file, clock or environment; what they need comes in as arguments. `measure` does all of it in
 * one call; the rest are its stages, in the order in which the data flows. `poleward` has the same and reads files.
 */
export { type ErrorCode, type ErrorData, PolewardError } from './error.js';
export { type Notice, type Remedy, type RemedyKey, type RemedyWords, type SayTurned, withRemedies } from './remedy.js';

export { type MeasureOptions, frameOf, measure } from './tasks/measure/measure.js';
export type { AddRequest, GivenLook, Measured } from './tasks/measure/measureFrames.js';
export type { SeenFrames } from './tasks/measure/seeFrames.js';
export type { SeeRequest } from './tasks/measure/seeRequest.js';
export { measurementJson } from './tasks/measure/measurementJson.js';
export { measurementText } from './tasks/measure/measurementText.js';
export { type Guidance, type KnobHistory, guide } from './tasks/measure/guidance.js';
export type { FrameResult, FrameStars, FrameTrouble, TimeGiven } from './tasks/recognise/frameStars.js';
export type { FrameOutcome } from './tasks/recognise/identifyFrames.js';
export type { KnownFrame } from './tasks/recognise/recognition.js';
export type { Near } from './tasks/given/placeHint.js';
export { type GivenValues, type Said, givenValues } from './tasks/given/given.js';
export type { RigInForce } from './tasks/given/rigInForce.js';
export type { SiteInForce } from './tasks/given/siteInForce.js';

export { ARCMINUTE, ARCSECOND, DEGREE } from './geometry/angle.js';
export type { Rotation } from './geometry/rotation.js';
export type { Vector } from './geometry/vector.js';

export type { Frame, FrameMetadata, Image, PixelArray, Sourced } from './frames/frame.js';
export type { Pointing } from './frames/fitsPointing.js';
export type { ClockMs } from './frames/dateText.js';

export { starsOfFrame } from './tasks/recognise/frameStars.js';
export { detectStars, type DetectOptions, type Detection } from './stars/detectStars.js';
export type { DetectedStar } from './stars/star.js';
export { starShapes, type StarShape, type StarToShape } from './stars/starShapes.js';
export type { Shape } from './stars/windowed.js';

export { type Catalogue, parseCatalogue } from './sky/catalogue.js';
export { type SkyCatalogue, type SkyStars, type StarCatalogue, openSkyCatalogue } from './sky/catalogueSky.js';
export { constellationOf } from './sky/constellation.js';
export { type Steps, atOnce } from './numeric/steps.js';
export { type Hemisphere, type LocalSky, makeLocalSky } from './sky/localSky.js';
export { type Site, type SiteGiven, makeSite } from './sky/site.js';
export { type NightSpan, nightAt, nightOf, type Darkness, type Dark } from './sky/darkness.js';
export { type MagneticNorth, magneticNorth, type CompassUse } from './sky/magneticNorth.js';
export type { Refraction } from './sky/refraction.js';
export type { PolarMotion } from './sky/polarMotion.js';
export type { PoleStar, PoleStarPlace } from './sky/poleStar.js';
export type { MoonPlace } from './sky/moon.js';
export type { Stretch } from './sky/crossings.js';

export { type IdentifiedStar, type Identification, identifyFrame } from './identify/identifyFrame.js';
export {
  type PlaceHints, type Recognised, type SkyMemory, emptySkyMemory, identifyAnywhere,
} from './identify/identifyAnywhere.js';
export { type CapStars, type StarCap, hemisphereStars, starCap } from './identify/starCap.js';
export { type Lens, type Tangential, toDirection, toPixel } from './identify/lens.js';
export { ACCEPTED_ODDS } from './identify/chanceOdds.js';
export { type WcsCard, worldCoordinates } from './identify/worldCoordinates.js';
export type { SearchHints } from './identify/trials.js';
export type { SearchMemory } from './identify/searchPose.js';
export type { FieldIndex } from './identify/fieldIndex.js';
export type { TriangleIndex } from './identify/triangles.js';

export { type Aim, aimedError, aimedPole } from './axis/aim.js';
export { type AxisError, axisError, axisWithError, fromHorizontal, horizontal } from './axis/axisError.js';
export { type Turns, axisFromPoses } from './axis/axisFromPoses.js';
export type { AxisResult, Covariance, FrameOnAxis } from './axis/axisResult.js';
export { type AxisFrame, type MountEstimate, axisInStance, estimateMount } from './axis/estimateMount.js';
export { strayAxis } from './axis/strayAxis.js';
export { type AxisMeasurement, measureAxis } from './axis/measureAxis.js';
export type { Warning, WarningCode } from './axis/warning.js';
export type { Disagreement } from './axis/oneRotation.js';
export type { JointFit } from './axis/jointFit.js';
export type { Grouping, MountModel } from './axis/mountModel.js';

export { type Rig, parseRig, type AltitudeKnob, type AzimuthKnob, type KnobName, type RigKnob, type RigSite } from './knobs/rig.js';
export { type FacingRig, rigFacing } from './knobs/rigFacing.js';
export { type KnobAdvice, adviseTurns, type Direction, type ErrorToTurnAway, type TravelUsed } from './knobs/adviseTurns.js';
export { type AdviceWords, adviceWords } from './knobs/turnWords.js';
export type { Adjustment, KnobTurned, LearnedKnobs, LearnedKnob } from './knobs/learnedKnobs.js';

export {
  type StarPlace, type TurningSky, apparentDirection, directionOf, guideTurn, onMount, placeOf, poleDirections,
} from './run/misalignedMount.js';
export {
  type GuidedTrail, type RunPlan, type UnguidedTrail, guidedTrail, runView, unguidedTrail, type RunView, type GuidedPair,
} from './run/runTrail.js';
export { type KnobErrors, type RunBudget, runBudget } from './run/runBudget.js';
export {
  type Preparation, type PreparationGiven, prepareNight, preparationWarnings, type PreparationWarning, type PreparationWarningCode,
} from './run/preparation.js';
export { type RegisteredField, registerField, type FrameOnField } from './run/registerField.js';
export { type FieldDrift, fieldDrift } from './run/fieldDrift.js';
export { type GeometrySigma, type Guiding, type ImpliedAxis, impliedAxis, type KnownCombination } from './run/impliedAxis.js';
export { type FieldOrientation, targetPose } from './run/targetPose.js';
export { type FieldShape, fieldShape, type MomentsAt, type Region, type RegionShape } from './run/fieldShape.js';
export type { BestAim } from './run/bestAim.js';
export type { FieldSize, PlannedCamera } from './run/prepareField.js';
export type { SuggestedExposure } from './run/prepareExposure.js';
export type { RotationPlan, Turning, AxisPrecision } from './run/prepareRotation.js';
export type { PayloadCheck } from './run/preparePayload.js';
export type { StarCamera, StarForecast } from './run/prepareStars.js';
export type { Place } from './run/matchFields.js';
export type { Trend } from './run/series.js';
export type { CameraTurn, FieldGeometry, MountBasis } from './run/cameraTurns.js';
export type { PlaneFit } from './run/planeFit.js';

export {
  type FrameMarks, type SeenFrame, type StarGoal, frameMarks, type AxisToMark, type Leg, type SeenStar, type StarWish,
} from './picture/frameMarks.js';
export { type DialInk, type DialTurn, dialTurn, knobDial } from './picture/knobDial.js';
export { type PictureSheet, pictureSheet } from './picture/pictureSheet.js';
export { type Backdrop, type EncodeJpeg, encodeCells } from './picture/encodeCells.js';
export { type FrameCells, frameCells } from './picture/frameCells.js';
export { DARK_INKS, type Inks, RED_INKS } from './picture/inks.js';
export type { Place as MarkPlace, Point, SensorView } from './picture/onSensor.js';
export type { DrawnFrame } from './picture/frameDrawing.js';

export {
  type SimulateRequest, type SimulatedFile, type Simulation, simulation, simulationPlan, type SimulatedError,
} from './tasks/simulate/simulation.js';
export { planNight, renderFrame, type Night, type NightFrame, type FrameTruth, type Pixel, type StarTruth } from './simulate/night.js';
export type { NightPlan, Shift } from './simulate/nightPlan.js';
export type { TrueStars } from './simulate/trueStars.js';
export type { StarProfile } from './simulate/starProfile.js';
export type { Drive } from './simulate/drive.js';
export type { HardSky, Effect, Canvas } from './simulate/hardSky.js';
export type { AxisPlace } from './simulate/mount.js';
export type { Random } from './simulate/random.js';

export type {
  AxisState, KeptPicture, MeasurementRecord, ErrorRecord, FrameRecord, KnobRecord, StartEntry, WarningRecord, Knob, Recorded,
  SESSION_SCHEMA, OLD_SCHEMA, SessionSite, SessionEntry, CautionEntry, LookEntry, AnswerEntry, OldMeasurement, NoteEntry,
  TurnEntry, DoubtRecord,
} from './night/record/entry.js';
export type { Session } from './night/record/session.js';
export type { SessionLines, SessionWarning } from './night/record/sessionLines.js';
export { type Look, type LookStars, type RecognisedFrame, isSameLook, lookOf } from './night/look.js';
export {
  type Night as LooksOfNight, type NightAnswer, type NightSetting, type News,
  answerAt, answersNow, correctionsOf, emptyNight, nightOf as nightOfLooks, withLook,
} from './night/night.js';
export type { LookFrame } from './night/night.js';
export type { Said as SaidOfLook, PoseLook } from './night/poseLook.js';
export type { Doubt } from './night/doubts.js';
export type { Limit, NextStep, Order, WhatIsSaid } from './night/said.js';
export type { Anchor } from './night/anchor.js';
export type { PoseAnswer, PoseCorrection, PoseDoubt } from './night/understanding.js';
export type { Account } from './night/weigh.js';
export type { BatchState, MountState, RoughAxis } from './night/mountState.js';
export type { Explanation } from './night/explanations.js';
export type { Matrix2 } from './night/gaussian.js';
export type { TextStyle } from './tasks/measure/measurementText.js';
export type { AirValue } from './tasks/given/siteInForce.js';
export type { Frames as ModelBases, LensChoice } from './axis/mountModel.js';
export type { Basis } from './axis/axisBasis.js';
export type { Sightings } from './axis/sightings.js';
export type { HeldCentre } from './axis/jointFit.js';
export type { PlannedRun } from './knobs/rig.js';
export { decodeFrame, type DecodeFrameOptions } from './frames/decodeFrame.js';
export type { FrameDecoders, OpenPicture, PictureSamples, RawAbout, RawPicture, RawResult } from './frames/decoders.js';
export type { RasterKind } from './frames/fileKind.js';
