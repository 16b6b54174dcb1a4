package store

import (
	"iter"
	"strings"

	"ventdue/vent"
)

// Operator gives the operator's record; ErrNotFound before the first set-up.
func Operator(tx *Tx) (vent.Operator, error) { return Operators.Get(tx, vent.ID{}) }

// The walks below go through an index, in the order named.

// SitesOf walks a customer's sites.
func SitesOf(tx *Tx, customer vent.ID) iter.Seq2[vent.Site, error] {
	return Sites.find(tx, siteCustomer, key{}.id(customer))
}

// UnitsOf walks a site's units.
func UnitsOf(tx *Tx, site vent.ID) iter.Seq2[vent.Unit, error] {
	return Units.find(tx, unitSite, key{}.id(site))
}

// UnitsOccupiedBy walks the units in which a person lives or lived.
func UnitsOccupiedBy(tx *Tx, person vent.ID) iter.Seq2[vent.Unit, error] {
	return Units.find(tx, unitOccupant, key{}.id(person))
}

// CustomersOf walks the customers for whom a person is a contact.
func CustomersOf(tx *Tx, person vent.ID) iter.Seq2[vent.Customer, error] {
	return Customers.find(tx, customerPerson, key{}.id(person))
}

// AppliancesOf walks a unit's appliances.
func AppliancesOf(tx *Tx, unit vent.ID) iter.Seq2[vent.Appliance, error] {
	return Appliances.find(tx, applianceUnit, key{}.id(unit))
}

// RunsOfSite walks a site's runs.
func RunsOfSite(tx *Tx, site vent.ID) iter.Seq2[vent.Run, error] {
	return Runs.find(tx, runSite, key{}.id(site))
}

// RunsOfUnit walks a unit's runs.
func RunsOfUnit(tx *Tx, unit vent.ID) iter.Seq2[vent.Run, error] {
	return Runs.find(tx, runUnit, key{}.id(unit))
}

// BranchesOf walks a riser's branches.
func BranchesOf(tx *Tx, riser vent.ID) iter.Seq2[vent.Run, error] {
	return Runs.find(tx, runParent, key{}.id(riser))
}

// FindingsOf walks a run's findings by day and source, replaced ones included.
func FindingsOf(tx *Tx, run vent.ID) iter.Seq2[vent.Finding, error] {
	return Findings.find(tx, findingKey, key{}.id(run))
}

// FindingByKey gives the finding that counts for run, day and source.
func FindingByKey(tx *Tx, run vent.ID, on vent.Date, source string) (vent.Finding, error) {
	return Findings.one(tx, findingKey, findingKeyOf(run, on, source))
}

// SignsOf walks a run's signs by time.
func SignsOf(tx *Tx, run vent.ID) iter.Seq2[vent.Sign, error] {
	return Signs.find(tx, signRun, key{}.id(run))
}

// FaultsOf walks a subject's faults.
func FaultsOf(tx *Tx, s vent.Subject) iter.Seq2[vent.Fault, error] {
	return Faults.find(tx, faultSubject, key{}.subject(s))
}

// ChecksOf walks a subject's checks.
func ChecksOf(tx *Tx, s vent.Subject) iter.Seq2[vent.Check, error] {
	return Checks.find(tx, checkSubject, key{}.subject(s))
}

// ChecksOfRound walks the checks that are done on one errand.
func ChecksOfRound(tx *Tx, round vent.ID) iter.Seq2[vent.Check, error] {
	return Checks.find(tx, checkRound, key{}.id(round))
}

// DuesOf walks a subject's dues, closed ones included, by kind.
func DuesOf(tx *Tx, s vent.Subject) iter.Seq2[vent.Due, error] {
	return Dues.find(tx, dueKey, key{}.subject(s))
}

// OpenDuesOf walks a subject's open dues by birth.
func OpenDuesOf(tx *Tx, s vent.Subject) iter.Seq2[vent.Due, error] {
	return Dues.find(tx, dueSubject, key{}.subject(s))
}

// OpenDues walks the open dues whose day lies in [from, to), by day; a zero bound is no bound.
func OpenDues(tx *Tx, from, to vent.Date) iter.Seq2[vent.Due, error] {
	return Dues.between(tx, dueDay, key{}.date(from), dayEnd(key{}, to))
}

// OpenDuesIn is OpenDues within one scope: the operator's, a site's or a customer's.
func OpenDuesIn(tx *Tx, s vent.Scope, from, to vent.Date) iter.Seq2[vent.Due, error] {
	switch s.Kind {
	case vent.KindSite:
		return Dues.between(tx, dueSite, key{}.id(s.ID).date(from), dayEnd(key{}.id(s.ID), to))
	case vent.KindCustomer:
		return Dues.between(tx, dueCustomer, key{}.id(s.ID).date(from), dayEnd(key{}.id(s.ID), to))
	}
	return OpenDues(tx, from, to)
}

// dayEnd gives the upper bound of a walk by day below a prefix.
func dayEnd(prefix key, to vent.Date) key {
	if to == 0 {
		if len(prefix) == 0 {
			return nil
		}
		return end(prefix)
	}
	return prefix.date(to)
}

// CountOpenDues counts the open dues in [from, to) without reading them.
func CountOpenDues(tx *Tx, from, to vent.Date) (n int, err error) {
	for _, err := range dueDay.ids(tx, key{}.date(from), dayEnd(key{}, to)) {
		if err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

// VisitsOf walks a site's visits by day.
func VisitsOf(tx *Tx, site vent.ID) iter.Seq2[vent.Visit, error] {
	return Visits.find(tx, visitSite, key{}.id(site))
}

// VisitsBy walks a technician's visits by day.
func VisitsBy(tx *Tx, technician vent.ID) iter.Seq2[vent.Visit, error] {
	return Visits.find(tx, visitTechnician, key{}.id(technician))
}

// AppointmentsOf walks a visit's appointments.
func AppointmentsOf(tx *Tx, visit vent.ID) iter.Seq2[vent.Appointment, error] {
	return Appointments.find(tx, appointmentVisit, key{}.id(visit))
}

// AppointmentsFor walks a customer's appointments.
func AppointmentsFor(tx *Tx, customer vent.ID) iter.Seq2[vent.Appointment, error] {
	return Appointments.find(tx, appointmentCustomer, key{}.id(customer))
}

// NoticeByKey gives the obligation with the natural key.
func NoticeByKey(tx *Tx, k vent.NoticeKey) (vent.Notice, error) {
	return Notices.one(tx, noticeKey, noticeKeyOf(k))
}

// NoticesAbout walks the notices about one thing.
func NoticesAbout(tx *Tx, thing vent.Subject) iter.Seq2[vent.Notice, error] {
	return Notices.find(tx, noticeThing, key{}.subject(thing))
}

// NoticesFor walks everything that a person was or is to be told.
func NoticesFor(tx *Tx, person vent.ID) iter.Seq2[vent.Notice, error] {
	return Notices.find(tx, noticeKey, key{}.id(person))
}

// MessagesTo walks a person's messages by day.
func MessagesTo(tx *Tx, person vent.ID) iter.Seq2[vent.Message, error] {
	return Messages.find(tx, messagePerson, key{}.id(person))
}

// MessagesDue walks the messages of a channel that may be tried at the moment, the longest waiting first.
func MessagesDue(tx *Tx, c vent.Channel, now vent.Instant) iter.Seq2[vent.Message, error] {
	return Messages.between(tx, nextBy(c), nil, key{}.instant(now+1))
}

// NextMessage gives when the next message of a channel may be tried; never when none waits.
func NextMessage(tx *Tx, c vent.Channel) (vent.Instant, error) {
	for m, err := range Messages.between(tx, nextBy(c), nil, nil) {
		return m.NotFor, err
	}
	return 0, nil
}

// PersonsByMail walks the persons with the address.
func PersonsByMail(tx *Tx, mail string) iter.Seq2[vent.Person, error] {
	return Persons.find(tx, personMail, key{}.text(strings.ToLower(mail)))
}

// FeedByToken gives the feed whose token has the hash.
func FeedByToken(tx *Tx, hash []byte) (vent.Feed, error) { return Feeds.one(tx, feedToken, hash) }

// FeedsOf walks the feeds of a scope.
func FeedsOf(tx *Tx, s vent.Scope) iter.Seq2[vent.Feed, error] {
	return Feeds.find(tx, feedScope, key{}.scope(s))
}

// AccountByName gives the account of a name, however it is written.
func AccountByName(tx *Tx, name string) (vent.Account, error) {
	return Accounts.one(tx, accountName, key{}.text(vent.AccountName(name)))
}

// AccountsOf walks the accounts that belong to a person.
func AccountsOf(tx *Tx, person vent.ID) iter.Seq2[vent.Account, error] {
	return Accounts.find(tx, accountPerson, key{}.id(person))
}

// TokenByHash gives the API token with the hash.
func TokenByHash(tx *Tx, hash []byte) (vent.Token, error) { return Tokens.one(tx, tokenHash, hash) }

// PersonByRef gives the person with the operator's own key.
func PersonByRef(tx *Tx, r string) (vent.Person, error) {
	return Persons.one(tx, personRef, key{}.text(r))
}

// CustomerByRef gives the customer with the operator's own key.
func CustomerByRef(tx *Tx, r string) (vent.Customer, error) {
	return Customers.one(tx, customerRef, key{}.text(r))
}

// SiteByRef gives the site with the operator's own key.
func SiteByRef(tx *Tx, r string) (vent.Site, error) { return Sites.one(tx, siteRef, key{}.text(r)) }

// UnitByRef gives the unit with the operator's own key.
func UnitByRef(tx *Tx, r string) (vent.Unit, error) { return Units.one(tx, unitRef, key{}.text(r)) }

// ApplianceByRef gives the appliance with the operator's own key.
func ApplianceByRef(tx *Tx, r string) (vent.Appliance, error) {
	return Appliances.one(tx, applianceRef, key{}.text(r))
}

// RunByRef gives the run with the operator's own key.
func RunByRef(tx *Tx, r string) (vent.Run, error) { return Runs.one(tx, runRef, key{}.text(r)) }

// MessagesOn walks a person's messages of one local day.
func MessagesOn(tx *Tx, person vent.ID, on vent.Date) iter.Seq2[vent.Message, error] {
	return Messages.find(tx, messagePerson, key{}.id(person).date(on))
}

// CountMessagesWaiting counts the messages that wait to be handed over, without reading them.
func CountMessagesWaiting(tx *Tx) (n int, err error) {
	for _, c := range vent.Channels() {
		for _, err := range nextBy(c).ids(tx, nil, nil) {
			if err != nil {
				return n, err
			}
			n++
		}
	}
	return n, nil
}
