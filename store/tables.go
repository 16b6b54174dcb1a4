package store

import (
	"iter"
	"strings"

	"ventdue/vent"
)

// The tables. They are descriptions, not state: every call takes the transaction.
var (
	Operators    = newTable(vent.KindOperator, func(*vent.Operator) vent.ID { return vent.ID{} }, true).then(operatorChanged)
	Persons      = newTable(vent.KindPerson, func(v *vent.Person) vent.ID { return v.ID }, true, personRef, personMail, personVisits).then(personChanged)
	Customers    = newTable(vent.KindCustomer, func(v *vent.Customer) vent.ID { return v.ID }, true, customerRef, customerPerson).first(customerBorn).then(customerChanged)
	Sites        = newTable(vent.KindSite, func(v *vent.Site) vent.ID { return v.ID }, true, siteRef, siteCustomer).then(siteChanged)
	Units        = newTable(vent.KindUnit, func(v *vent.Unit) vent.ID { return v.ID }, true, unitRef, unitSite, unitOccupant).then(unitChanged)
	Appliances   = newTable(vent.KindAppliance, func(v *vent.Appliance) vent.ID { return v.ID }, true, applianceRef, applianceUnit)
	Runs         = newTable(vent.KindRun, func(v *vent.Run) vent.ID { return v.ID }, true, runRef, runSite, runUnit, runParent).then(runChanged)
	Findings     = newTable(vent.KindFinding, func(v *vent.Finding) vent.ID { return v.ID }, true, findingKey).under(func(v *vent.Finding) vent.Subject { return ofRun(v.RunID) })
	Signs        = newTable(vent.KindSign, func(v *vent.Sign) vent.ID { return v.ID }, true, signRun).under(func(v *vent.Sign) vent.Subject { return ofRun(v.RunID) })
	Faults       = newTable(vent.KindFault, func(v *vent.Fault) vent.ID { return v.ID }, true, faultSubject).under(func(v *vent.Fault) vent.Subject { return v.Subject }).first(faultBorn).then(faultChanged)
	Checks       = newTable(vent.KindCheck, func(v *vent.Check) vent.ID { return v.ID }, true, checkSubject, checkRound).under(func(v *vent.Check) vent.Subject { return v.Subject })
	Dues         = newTable(vent.KindDue, func(v *vent.Due) vent.ID { return v.ID }, false, dueKey, dueSubject, dueDay, dueSite, dueCustomer)
	Visits       = newTable(vent.KindVisit, func(v *vent.Visit) vent.ID { return v.ID }, true, visitSite, visitTechnician, visitDay).first(visitBorn).then(visitChanged)
	Appointments = newTable(vent.KindAppointment, func(v *vent.Appointment) vent.ID { return v.ID }, true, appointmentVisit, appointmentCustomer, appointmentUnit, appointmentDue)
	Notices      = newTable(vent.KindNotice, func(v *vent.Notice) vent.ID { return v.ID }, false, noticeKey, noticeThing)
	Messages     = newTable(vent.KindMessage, func(v *vent.Message) vent.ID { return v.ID }, false, messageNext, hookNext, messagePerson)
	Feeds        = newTable(vent.KindFeed, func(v *vent.Feed) vent.ID { return v.ID }, true, feedToken, feedScope)
	// The trail would keep hashes of old passwords: what happens to accounts and tokens is noted in words alone.
	Accounts = newTable(vent.KindAccount, func(v *vent.Account) vent.ID { return v.ID }, false, accountName, accountPerson)
	Tokens   = newTable(vent.KindToken, func(v *vent.Token) vent.ID { return v.ID }, false, tokenHash)
)

func ofRun(id vent.ID) vent.Subject { return vent.Subject{Kind: vent.KindRun, ID: id} }

// ref makes the unique index of the operator's own keys for one noun.
func ref[T any](of func(*T) string) *Index[T] {
	return &Index[T]{name: "ref", unique: true, keys: func(v *T) []key {
		if r := of(v); r != "" {
			return []key{key{}.text(r)}
		}
		return nil
	}}
}

// byID makes an index by one other record.
func byID[T any](name string, of func(*T) vent.ID) *Index[T] {
	return &Index[T]{name: name, keys: func(v *T) []key {
		if id := of(v); !id.IsZero() {
			return []key{key{}.id(id)}
		}
		return nil
	}}
}

var (
	personRef    = ref(func(v *vent.Person) string { return v.Ref })
	customerRef  = ref(func(v *vent.Customer) string { return v.Ref })
	siteRef      = ref(func(v *vent.Site) string { return v.Ref })
	unitRef      = ref(func(v *vent.Unit) string { return v.Ref })
	applianceRef = ref(func(v *vent.Appliance) string { return v.Ref })
	runRef       = ref(func(v *vent.Run) string { return v.Ref })

	personMail = &Index[vent.Person]{name: "mail", keys: func(v *vent.Person) []key {
		if v.Email == "" {
			return nil
		}
		return []key{key{}.text(strings.ToLower(v.Email))}
	}}
	// personVisits holds those for whom visits are planned.
	personVisits = &Index[vent.Person]{name: "visits", keys: func(v *vent.Person) []key {
		if !v.MakesVisits() {
			return nil
		}
		return []key{{}}
	}}
	customerPerson = &Index[vent.Customer]{name: "person", keys: func(v *vent.Customer) (ks []key) {
		for _, p := range v.Persons {
			ks = append(ks, key{}.id(p))
		}
		return ks
	}}
	unitOccupant = &Index[vent.Unit]{name: "occupant", keys: func(v *vent.Unit) (ks []key) {
		for _, o := range v.Occupancies {
			if !o.PersonID.IsZero() {
				ks = append(ks, key{}.id(o.PersonID))
			}
		}
		return ks
	}}
	siteCustomer  = byID("customer", func(v *vent.Site) vent.ID { return v.CustomerID })
	unitSite      = byID("site", func(v *vent.Unit) vent.ID { return v.SiteID })
	applianceUnit = byID("unit", func(v *vent.Appliance) vent.ID { return v.UnitID })
	runSite       = byID("site", func(v *vent.Run) vent.ID { return v.SiteID })
	runUnit       = byID("unit", func(v *vent.Run) vent.ID { return v.UnitID })
	runParent     = byID("parent", func(v *vent.Run) vent.ID { return v.ParentID })

	// findingKey is a finding's identity: run, day, source. Only the word that counts holds it, so that a
	// correction can take its place; a replaced one lies behind it under its own ID.
	findingKey = &Index[vent.Finding]{name: "key", unique: true, keys: func(v *vent.Finding) []key {
		k := findingKeyOf(v.RunID, v.Date, v.Source)
		if !v.Counts() {
			k = k.id(v.ID)
		}
		return []key{k}
	}}
	signRun      = &Index[vent.Sign]{name: "run", keys: func(v *vent.Sign) []key { return []key{key{}.id(v.RunID).instant(v.At)} }}
	faultSubject = &Index[vent.Fault]{name: "subject", keys: func(v *vent.Fault) []key { return []key{key{}.subject(v.Subject)} }}
	checkSubject = &Index[vent.Check]{name: "subject", keys: func(v *vent.Check) []key { return []key{key{}.subject(v.Subject)} }}

	checkRound = byID("round", func(v *vent.Check) vent.ID { return v.Round })

	// dueKey is a due's identity, closed ones included: subject, kind, opener.
	dueKey = &Index[vent.Due]{name: "key", unique: true, keys: func(v *vent.Due) []key {
		return []key{dueKeyOf(v.Subject, v.Kind, v.Opener)}
	}}
	dueSubject  = openDues("subject", func(v *vent.Due) key { return key{}.subject(v.Subject) })
	dueDay      = openDues("day", func(v *vent.Due) key { return key{}.date(v.Day) })
	dueSite     = openDues("site", func(v *vent.Due) key { return key{}.id(v.SiteID).date(v.Day) })
	dueCustomer = openDues("customer", func(v *vent.Due) key { return key{}.id(v.CustomerID).date(v.Day) })

	visitSite       = &Index[vent.Visit]{name: "site", keys: func(v *vent.Visit) []key { return []key{key{}.id(v.SiteID).date(v.On)} }}
	visitTechnician = &Index[vent.Visit]{name: "technician", keys: func(v *vent.Visit) []key {
		return []key{key{}.id(v.TechnicianID).date(v.On)}
	}}
	visitDay            = &Index[vent.Visit]{name: "day", keys: func(v *vent.Visit) []key { return []key{key{}.date(v.On)} }}
	appointmentVisit    = byID("visit", func(v *vent.Appointment) vent.ID { return v.VisitID })
	appointmentCustomer = byID("customer", func(v *vent.Appointment) vent.ID { return v.CustomerID })
	appointmentUnit     = byID("unit", func(v *vent.Appointment) vent.ID { return v.UnitID })
	// appointmentDue holds live appointments by each due that they are for.
	appointmentDue = &Index[vent.Appointment]{name: "due", keys: func(v *vent.Appointment) (ks []key) {
		if v.State.Live() {
			for _, d := range v.Dues {
				ks = append(ks, key{}.id(d))
			}
		}
		return ks
	}}

	noticeKey = &Index[vent.Notice]{name: "key", unique: true, keys: func(v *vent.Notice) []key {
		return []key{noticeKeyOf(v.Key)}
	}}
	noticeThing = &Index[vent.Notice]{name: "thing", keys: func(v *vent.Notice) []key { return []key{key{}.subject(v.Key.Thing)} }}

	// messageNext holds what may be tried, by when.
	messageNext   = waitingBy(vent.ByMail, "next")
	hookNext      = waitingBy(vent.ByWebhook, "next_hook")
	messagePerson = &Index[vent.Message]{name: "person", keys: func(v *vent.Message) []key {
		return []key{key{}.id(v.PersonID).date(v.On)}
	}}
	feedToken = &Index[vent.Feed]{name: "token", unique: true, keys: func(v *vent.Feed) []key {
		if len(v.TokenHash) == 0 {
			return nil
		}
		return []key{v.TokenHash}
	}}
	accountName   = &Index[vent.Account]{name: "name", unique: true, keys: func(v *vent.Account) []key { return []key{key{}.text(vent.AccountName(v.Name))} }}
	accountPerson = byID("person", func(v *vent.Account) vent.ID { return v.PersonID })
	tokenHash     = &Index[vent.Token]{name: "hash", unique: true, keys: func(v *vent.Token) []key { return []key{v.Hash} }}

	feedScope = &Index[vent.Feed]{name: "scope", keys: func(v *vent.Feed) []key { return []key{key{}.scope(v.Scope)} }}
)

// waitingBy makes the index of a channel's messages that may be tried, by when. Each channel has one, so that the trouble of
// one holds no other back.
func waitingBy(c vent.Channel, name string) *Index[vent.Message] {
	return &Index[vent.Message]{name: name, keys: func(v *vent.Message) []key {
		if v.State.Settled() || v.Channel != c {
			return nil
		}
		return []key{key{}.instant(v.NotFor)}
	}}
}

func nextBy(c vent.Channel) *Index[vent.Message] {
	if c == vent.ByWebhook {
		return hookNext
	}
	return messageNext
}

func openDues(name string, of func(*vent.Due) key) *Index[vent.Due] {
	return &Index[vent.Due]{name: name, keys: func(v *vent.Due) []key {
		if v.State != vent.DueOpen {
			return nil
		}
		return []key{of(v)}
	}}
}

func findingKeyOf(run vent.ID, on vent.Date, source string) key {
	return key{}.id(run).date(on).text(source)
}

func dueKeyOf(s vent.Subject, k vent.DueKind, opener vent.ID) key {
	return key{}.subject(s).text(string(k)).id(opener)
}

func noticeKeyOf(k vent.NoticeKey) key {
	return key{}.id(k.PersonID).subject(k.Thing).id(k.Opener).int(k.Arm).text(string(k.Step)).text(string(k.Channel))
}

// Collect gathers a walk into a slice and stops at its first error.
func Collect[T any](walk iter.Seq2[T, error]) ([]T, error) {
	var all []T
	for v, err := range walk {
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, nil
}
