# Reads a calendar from stdin with icalendar, writes its events as JSON lines.
import datetime
import json
import sys

from icalendar import Calendar


def when(event, name):
    value = event[name].dt
    if not isinstance(value, datetime.datetime):
        return value.isoformat()
    if value.tzinfo is None:
        return "floating " + value.isoformat()
    return value.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")


def categories(event):
    found = event.get("CATEGORIES", [])
    groups = found if isinstance(found, list) else [found]
    return [str(c) for group in groups for c in group.cats]


calendar = Calendar.from_ical(sys.stdin.buffer.read())
for component in calendar.walk():
    if component.errors:
        sys.exit(f"{component.name}: {component.errors}")
for event in calendar.walk("VEVENT"):
    print(json.dumps({
        "uid": event["UID"],
        "summary": event.get("SUMMARY", ""),
        "description": event.get("DESCRIPTION", ""),
        "location": event.get("LOCATION", ""),
        "status": event.get("STATUS", ""),
        "url": event.get("URL", ""),
        "sequence": event.get("SEQUENCE", 0),
        "categories": categories(event),
        "alarms": len(event.walk("VALARM")),
        "start": when(event, "DTSTART"),
        "end": when(event, "DTEND"),
    }))
