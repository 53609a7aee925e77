// Where the sun stands and how near it comes to the line a receiver looks along. The same published algorithm as
// the Python side's library (Meeus' low-precision series as NOAA gives it), step by step, so that verdicts agree.

const SUN_NEARNESS_DEG = 15;
const rad = (degrees) => (degrees * Math.PI) / 180;
const deg = (radians) => (radians * 180) / Math.PI;
const clamped = (x) => Math.max(-1, Math.min(1, x));
const modulo = (x, by) => ((x % by) + by) % by;

function sunInView({ azimuth, latitude, longitude, month, hour, elevation }) {
  const look = { elevation, azimuth };
  const angles = sunTimes(month, hour, longitude).map((when) => sunAngle(look, latitude, longitude, when));
  const nearest = Math.min(180, ...angles.filter((a) => a !== null));
  const word = nearest < SUN_NEARNESS_DEG ? "near_sun" : "clear_of_sun";
  return outcome(word, `the sun comes within ${fixed(nearest, 0)} degrees of the look direction (near: under 15)`);
}

// Milliseconds UTC: every half hour around the solar hour on the 6th, 15th and 25th of the month.
function sunTimes(month, hour, longitude) {
  if (!(month >= 1 && month <= 12 && hour >= 0 && hour <= 24)) {
    refuse("month runs from 1 to 12 and hour from 0 to 24");
  }
  const days = [6, 15, 25].map((day) => Date.UTC(2025, Math.trunc(month) - 1, day));
  return days.flatMap((day) => [-2, -1, 0, 1, 2].map((step) => day + (hour - longitude / 15 + step / 2) * 3600000));
}

// Degrees to the sun or its mirror image in a level wet surface, or null while it is down.
function sunAngle(look, latitude, longitude, when) {
  const sun = sunPosition(latitude, longitude, when);
  const mirrored = { elevation: -sun.elevation, azimuth: sun.azimuth };
  return sun.elevation > 0 ? Math.min(angleBetween(look, sun), angleBetween(look, mirrored)) : null;
}

function angleBetween(one, other) {
  const [first, second] = [rad(one.elevation), rad(other.elevation)];
  const turn = rad(one.azimuth - other.azimuth);
  return deg(Math.acos(clamped(
    Math.sin(first) * Math.sin(second) + Math.cos(first) * Math.cos(second) * Math.cos(turn))));
}

function sunPosition(latitude, longitude, when) {
  if (!(latitude >= -90 && latitude <= 90 && longitude >= -180 && longitude <= 180)) {
    refuse("Latitude runs from -90 to 90 and longitude from -180 to 180 degrees.");
  }
  const seconds = Math.floor(Math.round(when * 1000) / 1e6); // whole seconds, as the library counts
  const centuries = (seconds / 86400 - 10957.5) / 36525; // since noon on 2000-01-01
  const { declination, equation } = sunOrbit(centuries);
  let solarMinutes = modulo(seconds, 86400) / 60 + equation + 4 * longitude;
  while (solarMinutes > 1440) solarMinutes -= 1440;
  const turned = solarMinutes / 4 - 180;
  return horizontal(Math.max(-89.8, Math.min(89.8, latitude)), declination, turned < -180 ? turned + 360 : turned);
}

// Declination in degrees and equation of time in minutes.
function sunOrbit(t) {
  const mean = modulo(280.46646 + t * (36000.76983 + 0.0003032 * t), 360);
  const anomaly = 357.52911 + t * (35999.05029 - 0.0001537 * t);
  const eccentric = 0.016708634 - t * (0.000042037 + 0.0000001267 * t);
  const node = rad(125.04 - 1934.136 * t);
  const apparent = mean + centreEquation(anomaly, t) - 0.00569 - 0.00478 * Math.sin(node);
  const arcSeconds = 21.448 - t * (46.815 + t * (0.00059 - t * 0.001813));
  const tilt = rad(23 + (26 + arcSeconds / 60) / 60 + 0.00256 * Math.cos(node));
  const declination = deg(Math.asin(Math.sin(tilt) * Math.sin(rad(apparent))));
  return { declination, equation: timeEquation(rad(mean), rad(anomaly), eccentric, Math.tan(tilt / 2) ** 2) };
}

function centreEquation(anomaly, t) {
  const m = rad(anomaly);
  return Math.sin(m) * (1.914602 - t * (0.004817 + 0.000014 * t))
    + Math.sin(2 * m) * (0.019993 - 0.000101 * t) + Math.sin(3 * m) * 0.000289;
}

function timeEquation(mean, m, e, y) {
  const radians = y * Math.sin(2 * mean) - 2 * e * Math.sin(m) + 4 * e * y * Math.sin(m) * Math.cos(2 * mean)
    - 0.5 * y * y * Math.sin(4 * mean) - 1.25 * e * e * Math.sin(2 * m);
  return deg(radians) * 4;
}

function horizontal(latitude, declination, hourAngle) {
  const [cl, sl] = [Math.cos(rad(latitude)), Math.sin(rad(latitude))];
  const [cd, sd] = [Math.cos(rad(declination)), Math.sin(rad(declination))];
  const zenith = deg(Math.acos(clamped(cl * cd * Math.cos(rad(hourAngle)) + sl * sd)));
  const across = cl * Math.sin(rad(zenith));
  let azimuth = latitude > 0 ? 180 : 0;
  if (Math.abs(across) > 0.001) {
    azimuth = 180 - deg(Math.acos(clamped((sl * Math.cos(rad(zenith)) - sd) / across)));
    if (hourAngle > 0) azimuth = -azimuth;
  }
  return { elevation: 90 - (zenith - refraction(90 - zenith)), azimuth: azimuth < 0 ? azimuth + 360 : azimuth };
}

function refraction(elevation) {
  if (elevation >= 85) return 0;
  const slope = Math.tan(rad(elevation));
  if (elevation > 5) return (58.1 / slope - 0.07 / slope ** 3 + 0.000086 / slope ** 5) / 3600;
  if (elevation <= -0.575) return -20.774 / slope / 3600;
  const steep = -518.2 + elevation * (103.4 + elevation * (-12.79 + elevation * 0.711));
  return (1735 + elevation * steep) / 3600;
}
