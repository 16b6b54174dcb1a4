/* Reads a calendar from stdin with libical, writes its events as JSON lines. */
#include <libical/ical.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static char *read_all(void) {
	size_t len = 0, cap = 1 << 16;
	char *buf = malloc(cap);
	size_t n;
	while ((n = fread(buf + len, 1, cap - len - 1, stdin)) > 0) {
		len += n;
		if (cap - len < 2) buf = realloc(buf, cap *= 2);
	}
	buf[len] = 0;
	return buf;
}

static void put_string(const char *name, const char *s) {
	printf("\"%s\":\"", name);
	for (; s && *s; s++) {
		unsigned char c = *s;
		if (c == '"' || c == '\\') printf("\\%c", c);
		else if (c < ' ') printf("\\u%04x", c);
		else putchar(c);
	}
	printf("\",");
}

static void put_property(const char *name, icalcomponent *event, icalproperty_kind kind) {
	icalproperty *p = icalcomponent_get_first_property(event, kind);
	put_string(name, p ? icalvalue_get_text(icalproperty_get_value(p)) : "");
}

static void put_time(const char *name, icalcomponent *event, icalproperty_kind kind) {
	icalproperty *p = icalcomponent_get_first_property(event, kind);
	struct icaltimetype t = p ? icalproperty_get_datetime_with_component(p, event) : icaltime_null_time();
	char text[64];
	if (icaltime_is_date(t)) {
		snprintf(text, sizeof text, "%04d-%02d-%02d", t.year, t.month, t.day);
	} else if (!t.zone) {
		snprintf(text, sizeof text, "floating %s", icaltime_as_ical_string(t));
	} else {
		time_t at = icaltime_as_timet_with_zone(t, t.zone);
		strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", gmtime(&at));
	}
	put_string(name, text);
}

static void put_categories(icalcomponent *event) {
	/* libical 3 hands the whole list over as one text with bare commas. */
	const char *separator = "";
	printf("\"categories\":[");
	icalproperty *p = icalcomponent_get_first_property(event, ICAL_CATEGORIES_PROPERTY);
	for (; p; p = icalcomponent_get_next_property(event, ICAL_CATEGORIES_PROPERTY)) {
		printf("%s\"%s\"", separator, icalproperty_get_categories(p));
		separator = ",";
	}
	printf("],");
}

/* Counts what libical could not parse anywhere in the tree. */
static int report_errors(icalcomponent *c) {
	int n = 0;
	icalproperty *p = icalcomponent_get_first_property(c, ICAL_XLICERROR_PROPERTY);
	for (; p; p = icalcomponent_get_next_property(c, ICAL_XLICERROR_PROPERTY)) {
		fprintf(stderr, "%s: %s\n", icalcomponent_kind_to_string(icalcomponent_isa(c)), icalproperty_get_xlicerror(p));
		n++;
	}
	icalcomponent *k = icalcomponent_get_first_component(c, ICAL_ANY_COMPONENT);
	for (; k; k = icalcomponent_get_next_component(c, ICAL_ANY_COMPONENT)) n += report_errors(k);
	return n;
}

int main(void) {
	icalcomponent *calendar = icalparser_parse_string(read_all());
	if (!calendar || icalcomponent_isa(calendar) != ICAL_VCALENDAR_COMPONENT) {
		fprintf(stderr, "not one VCALENDAR\n");
		return 1;
	}
	if (report_errors(calendar) > 0) return 1;
	icalcomponent *e = icalcomponent_get_first_component(calendar, ICAL_VEVENT_COMPONENT);
	for (; e; e = icalcomponent_get_next_component(calendar, ICAL_VEVENT_COMPONENT)) {
		icalproperty *status = icalcomponent_get_first_property(e, ICAL_STATUS_PROPERTY);
		icalproperty *url = icalcomponent_get_first_property(e, ICAL_URL_PROPERTY);
		putchar('{');
		put_property("uid", e, ICAL_UID_PROPERTY);
		put_property("summary", e, ICAL_SUMMARY_PROPERTY);
		put_property("description", e, ICAL_DESCRIPTION_PROPERTY);
		put_property("location", e, ICAL_LOCATION_PROPERTY);
		put_string("status", status ? icalproperty_status_to_string(icalproperty_get_status(status)) : "");
		put_string("url", url ? icalproperty_get_url(url) : "");
		put_categories(e);
		put_time("start", e, ICAL_DTSTART_PROPERTY);
		put_time("end", e, ICAL_DTEND_PROPERTY);
		printf("\"alarms\":%d,", icalcomponent_count_components(e, ICAL_VALARM_COMPONENT));
		printf("\"sequence\":%d}\n", icalcomponent_get_sequence(e));
	}
	return 0;
}
