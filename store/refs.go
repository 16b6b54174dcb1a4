package store

import (
	"slices"

	"ventdue/vent"
)

// named lists the records that a record names. An ID of none, and the operator, are always there.
func named(v any) []vent.Subject {
	switch x := v.(type) {
	case *vent.Customer:
		return ids(vent.KindPerson, x.Persons...)
	case *vent.Site:
		return ids(vent.KindCustomer, x.CustomerID)
	case *vent.Unit:
		refs := ids(vent.KindSite, x.SiteID)
		for _, o := range x.Occupancies {
			refs = append(refs, ids(vent.KindPerson, o.PersonID)...)
		}
		return refs
	case *vent.Appliance:
		return ids(vent.KindUnit, x.UnitID)
	case *vent.Run:
		refs := join(ids(vent.KindSite, x.SiteID), ids(vent.KindUnit, x.UnitID), ids(vent.KindRun, x.ParentID))
		for _, ver := range x.Versions {
			refs = join(refs, ids(vent.KindAppliance, ver.DryerID), ids(vent.KindAppliance, ver.InLine...))
		}
		return refs
	case *vent.Finding:
		return join(ids(vent.KindRun, x.RunID), ids(vent.KindPerson, x.By.PersonID), ids(vent.KindFinding, x.Corrects, x.Replaced))
	case *vent.Sign:
		return join(ids(vent.KindRun, x.RunID), ids(vent.KindFinding, x.Answered), ids(vent.KindFault, x.Released))
	case *vent.Fault:
		return append(ids(vent.KindFinding, x.FindingID, x.ClosedWith), x.Subject)
	case *vent.Check:
		return append(ids(vent.KindFinding, x.Finding, x.Kept.Finding), x.Subject)
	case *vent.Due:
		return append(join(ids(vent.KindSite, x.SiteID), ids(vent.KindCustomer, x.CustomerID)), x.Subject)
	case *vent.Visit:
		return join(ids(vent.KindSite, x.SiteID), ids(vent.KindPerson, x.TechnicianID))
	case *vent.Appointment:
		return join(ids(vent.KindVisit, x.VisitID), ids(vent.KindCustomer, x.CustomerID), ids(vent.KindUnit, x.UnitID), ids(vent.KindDue, x.Dues...), ids(vent.KindDue, x.Left...))
	case *vent.Notice:
		return append(join(ids(vent.KindPerson, x.Key.PersonID), ids(vent.KindMessage, x.MessageID)), x.Key.Thing)
	case *vent.Message:
		return join(ids(vent.KindPerson, x.PersonID), ids(vent.KindNotice, x.Notices...))
	case *vent.Account:
		return ids(vent.KindPerson, x.PersonID)
	case *vent.Feed:
		return append(join(ids(vent.KindPerson, x.PersonID), ids(vent.KindFeed, x.Replaced)), vent.Subject(x.Scope))
	}
	return nil
}

func ids(k vent.Kind, all ...vent.ID) []vent.Subject {
	refs := make([]vent.Subject, len(all))
	for i, id := range all {
		refs[i] = vent.Subject{Kind: k, ID: id}
	}
	return refs
}

func join(parts ...[]vent.Subject) []vent.Subject { return slices.Concat(parts...) }
