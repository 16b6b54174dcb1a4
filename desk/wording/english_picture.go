package wording

import "maps"

// The texts of the picture of flow over time.
func init() { maps.Copy(english, englishPicture) }

var englishPicture = map[string]string{
	"picture.title": "Flow of air over time: {where}", "picture.axis": "share of the clean flow (100 % = {speed} at the outlet)",
	"picture.due": "clean by {date}", "picture.today": "today", "picture.empty": "Nothing has been measured yet",
	"picture.key.before": "open: before the work", "picture.key.cleaned": "cleaned", "picture.key.partly": "cleaned in part",
	"picture.key.fan": "8 of 10 likely courses, with their middle", "picture.key.limit": "limit, {share}", "picture.key.window": "sensible days",
	"picture.reading.before": "{date}, before the work: {reading}, {share} of the clean flow",
	"picture.reading.after":  "{date}, after the work: {reading}, {share} of the clean flow",
	"picture.reading.leak":   "{date}: {reading}. Low pressure together with low flow says nothing of lint: look for a leak.",
	"picture.month.1":        "Jan", "picture.month.2": "Feb", "picture.month.3": "Mar", "picture.month.4": "Apr", "picture.month.5": "May", "picture.month.6": "Jun",
	"picture.month.7": "Jul", "picture.month.8": "Aug", "picture.month.9": "Sep", "picture.month.10": "Oct", "picture.month.11": "Nov", "picture.month.12": "Dec",
	"picture.text.last": "Last reading {date}: {reading}, {share} of the clean flow.", "picture.text.none": "No reading of air yet.",
	"picture.text.cleaned": "Last cleaned {date}.", "picture.text.limit": "It must be clean again before it falls below {share} of the clean flow.",
	"picture.text.due":    "To be cleaned by {date}.",
	"picture.text.likely": "If nobody cleans, eight of ten likely courses lie between {low} and {high} on {date}, half of them below {middle}.",
	"picture.text.older":  "What is older than {date} is left out of the picture.",
	"sharper.days":        "{n} days", "sharper.month": "a month", "sharper.months": "{n} months",
	"sharper.describe_route": "A description of the route would move the date by up to {much}.", "sharper.reading_now": "One reading at the outlet now would move the date by up to {much}.",
	"sharper.reading_after_cleaning": "A reading right after the cleaning would move the date by up to {much}.", "sharper.count_loads": "A count of the loads would move the date by up to {much}.",
	"page.picture.title": "Flow over time", "page.picture.file": "The picture as a file (SVG)", "page.picture.numbers": "The numbers behind the date",
}
