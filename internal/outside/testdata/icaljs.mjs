// Reads a calendar from stdin with ical.js (its file is the first argument),
// writes its events as JSON lines.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const { default: ICAL } = await import(pathToFileURL(process.argv[2]));
const calendar = new ICAL.Component(ICAL.parse(readFileSync(0, "utf8")));

for (const zone of calendar.getAllSubcomponents("vtimezone")) {
  ICAL.TimezoneService.register(new ICAL.Timezone(zone));
}

function when(time) {
  if (time.isDate) {
    return time.toString();
  }
  if (time.zone === ICAL.Timezone.localTimezone) {
    return "floating " + time.toString();
  }
  return new Date(time.toUnixTime() * 1000).toISOString().replace(".000Z", "Z");
}

for (const component of calendar.getAllSubcomponents("vevent")) {
  const event = new ICAL.Event(component);
  const text = (name) => component.getFirstPropertyValue(name) ?? "";
  console.log(JSON.stringify({
    uid: event.uid,
    summary: text("summary"),
    description: text("description"),
    location: text("location"),
    status: text("status"),
    url: text("url"),
    sequence: text("sequence") || 0,
    categories: component.getAllProperties("categories").flatMap((p) => p.getValues()),
    alarms: component.getAllSubcomponents("valarm").length,
    start: when(event.startDate),
    end: when(event.endDate),
  }));
}
