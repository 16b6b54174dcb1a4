package wording

import "maps"

// The texts of what a calendar shows of its scope, and how.
func init() { maps.Copy(english, englishFeeds) }

var englishFeeds = map[string]string{
	"page.feeds.scope.person": "one technician's visits", "page.feeds.field.shows": "Only these (nothing ticked is everything)",
	"page.feeds.part.dues": "what is due", "page.feeds.part.checks": "small checks", "page.feeds.part.visits": "visits",
	"page.feeds.field.more": "As well", "page.feeds.more.alarms": "an alarm a week before and on the day (many calendars drop them)",
	"page.feeds.more.tasks": "a task for each due (few calendars show tasks of a subscription)",
	"page.feeds.only":       "Only: {parts}.", "page.feeds.with.alarms": "With alarms.", "page.feeds.with.tasks": "With tasks.",
	"page.feeds.plain": "Open the address itself",
}
