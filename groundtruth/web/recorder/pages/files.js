// The files of a day as texts: what groundtruth reads as it is.
import { turnsBetween } from "./counters.js";

/** A time as UTC to a millisecond; a press of a button to the second, as a watch is read. */
export function utc(time, { second = false } = {}) {
  const whole = second ? Math.round(time / 1000) * 1000 : Math.round(time);
  const text = new Date(whole).toISOString();
  return second ? text.replace(".000Z", "Z") : text;
}

function cell(value) {
  const text = value === null || value === undefined ? "" : String(value);
  return /[",;\t|\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

function lines(rows) {
  return rows.map((row) => row.map(cell).join(",") + "\n").join("");
}

/** The track with all that was recorded, every number with all its digits. */
export function trackCsv(fixes) {
  const head = ["time", "received", "latitude", "longitude", "accuracy", "speed", "height"];
  return lines([
    head,
    ...fixes.map((f) => [
      utc(f.time),
      utc(f.received),
      f.latitude,
      f.longitude,
      f.accuracy,
      f.speed,
      f.height,
    ]),
  ]);
}

/** The track as GPX 1.1, speed and accuracy as extensions of our own name. */
export function trackGpx(fixes, name) {
  const points = fixes.map((f) => {
    const height = f.height === null ? "" : `<ele>${f.height}</ele>`;
    const more =
      (f.speed === null ? "" : `<r:speed>${f.speed}</r:speed>`) +
      (f.accuracy === null ? "" : `<r:accuracy>${f.accuracy}</r:accuracy>`);
    const extensions = more ? `<extensions>${more}</extensions>` : "";
    const at = `lat="${f.latitude}" lon="${f.longitude}"`;
    return `<trkpt ${at}>${height}<time>${utc(f.time)}</time>${extensions}</trkpt>\n`;
  });
  return (
    '<?xml version="1.0" encoding="UTF-8"?>\n' +
    '<gpx xmlns="http://www.topografix.com/GPX/1/1" xmlns:r="urn:groundtruth:recorder" ' +
    'version="1.1" creator="groundtruth recorder">' +
    `<trk><name>${xml(name)}</name><trkseg>\n${points.join("")}</trkseg></trk></gpx>\n`
  );
}

function xml(text) {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");
}

/** Passes that count: begun, ended, not struck out; in the order of the day. */
export function finished(passes) {
  return passes.filter((pass) => pass.end && !pass.struck).sort((a, b) => a.begun - b.begun);
}

/** How far the phone's clock is ahead of the times of the positions, where it is by more than the
 * two seconds that a position may take to arrive; else 0. [ms] */
export function clockAhead(fixes) {
  const delays = fixes.map((fix) => fix.received - fix.time).sort((a, b) => a - b);
  const median = delays.length ? delays[Math.floor(delays.length / 2)] : 0;
  return Math.abs(median) > 2_000 ? median : 0;
}

/** The turn sheet, a line for each unit of a pass and for each note between, in order of time, its
 * times on the clock of the positions. A counter that stood still has no turns. */
export function turnSheet(passes, notes, ahead) {
  const head = ["pass", "start", "end", "unit", "turns", "setting", "crop", "bed", "note"];
  const at = (time) => utc(time - ahead, { second: true });
  const counted = finished(passes);
  const rows = counted.map((pass, index) => ({
    time: pass.begun,
    lines: Object.keys(pass.start).map((unit, line) => {
      const turns = turnsBetween(pass.start[unit], pass.end[unit]);
      return [
        index + 1,
        at(pass.begun),
        at(pass.ended),
        unit,
        Number(turns) > 0 ? turns : "",
        pass.setting,
        pass.crop,
        pass.bed,
        line === 0 ? pass.note : "",
      ];
    }),
  }));
  const besides = notes.filter((note) => !counted.some((pass) => pass.id === note.pass));
  const noted = besides.map(({ time, text }) => ({
    time,
    lines: [["", at(time), "", "", "", "", "", "", text]],
  }));
  const ordered = [...rows, ...noted].sort((a, b) => a.time - b.time);
  return lines([head, ...ordered.flatMap((one) => one.lines)]);
}

function toml(text) {
  return JSON.stringify(text).replaceAll("\u007f", "\\u007f");
}

function length(quantity) {
  return quantity?.value ? `${quantity.value} ${quantity.unit}` : "";
}

/** The start of a run file: the two files, the watch, and what was said about seeder and crops. */
export function runToml(day, names) {
  const { setup } = day;
  const named = (name, text) => (text ? [`${name} = ${toml(text)}`] : []);
  const seeder = [["turns_of", toml(setup.turnsOf)]];
  if (setup.seeder) seeder.unshift(["name", toml(setup.seeder)]);
  const around = length(setup.wheel);
  if (around) {
    const limits = length({ value: setup.wheelLimits, unit: setup.wheel.unit });
    seeder.push(["wheel_circumference", toml(limits ? `${around} ± ${limits}` : around)]);
  }
  if (setup.ratio) seeder.push(["gear_turns_per_wheel_turn", setup.ratio]);
  if (length(setup.inUse)) seeder.push(["ground_per_gear_turn_in_use", toml(length(setup.inUse))]);
  if (setup.settings.length) seeder.push(["settings", `[${setup.settings.map(toml).join(", ")}]`]);
  const crops = setup.crops.filter((crop) => length(crop.spacing));
  const text = [
    `# Recorded with a phone from ${utc(day.begun, { second: true })}.`,
    `name = ${toml(setup.field || names.run.replace("-run.toml", ""))}`,
    ...named("farm", setup.farm),
    ...named("field", setup.field),
    `track = ${toml(names.track)}`,
    `turns = ${toml(names.turns)}`,
    `time_zone = ${toml(day.zone)}`,
    `units = ${toml(setup.units)}`,
    "",
    "[seeder]",
    ...seeder.map(([name, value]) => `${name} = ${value}`),
    ...crops.flatMap((crop) => [
      "",
      "[[sowing]]",
      `crop = ${toml(crop.name)}`,
      `spacing = ${toml(length(crop.spacing))}`,
    ]),
  ];
  return text.join("\n") + "\n";
}

/** Names of the files of a day, by the phone's own clock: "2027-04-27-0805-track.csv". */
export function namesOf(day, { gpx = false } = {}) {
  const at = new Date(day.begun);
  const two = (number) => String(number).padStart(2, "0");
  const date = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
  const stem = `${date}-${two(at.getHours())}${two(at.getMinutes())}`;
  return {
    track: `${stem}-track.${gpx ? "gpx" : "csv"}`,
    turns: `${stem}-turns.csv`,
    run: `${stem}-run.toml`,
  };
}
