package vent

// The purposes of reminders, each named as the kind of notice that serves it, to each of which a person may say no by itself.
// A stop is none: nobody can be without it. Nor is the confirmation of what a person just did, such as a booking.
const (
	PurposeAll     = "all"
	PurposeDues    = "run_due"    // a vent run must be looked at or cleaned
	PurposeChecks  = "check_due"  // a recurring check
	PurposeFaults  = "fault"      // a fault with a deadline that is no stop
	PurposeVisits  = "visit_soon" // a booked visit comes near
	PurposeRecords = "record"     // what a visit found
)

// Purposes lists the purposes that can be chosen, in the order in which people read them.
func Purposes() []string {
	return []string{PurposeDues, PurposeChecks, PurposeFaults, PurposeVisits, PurposeRecords}
}

// maxConsents is how many words of a person are kept: a link in a mail can be used again and again.
const maxConsents = 100

// Say adds what the person said to what they said before. Saying the same again adds nothing. Of very many words the
// oldest go that a later one on the same purpose has replaced.
func (x *Person) Say(c Consent) {
	if x.Wants(c.Purpose) == c.Given && (c.Purpose != PurposeAll || x.saidAll(c.Given)) {
		return
	}
	kept := append([]Consent(nil), x.Consents...)
	for i := 0; i < len(kept) && len(kept) >= maxConsents; {
		if replaced(kept[i], kept[i+1:]) {
			kept = append(kept[:i], kept[i+1:]...)
			continue
		}
		i++
	}
	x.Consents = append(kept, c)
}

// saidAll reports whether every purpose stands at given.
func (x Person) saidAll(given bool) bool {
	for _, p := range Purposes() {
		if x.Wants(p) != given {
			return false
		}
	}
	return true
}

func replaced(c Consent, later []Consent) bool {
	for _, l := range later {
		if l.Purpose == c.Purpose || l.Purpose == PurposeAll {
			return true
		}
	}
	return false
}

// maxFirstDays is how early a first reminder can be asked for.
const maxFirstDays = 365
