package visits
import ("testing";"fmt")
func TestDbg(t *testing.T) {
	for _, seed := range []uint64{154,3178} {
		p := small(seed)
		m, _ := compile(&p)
		fmt.Println(m.roads.table, "grid", m.grid)
		for _, tt := range p.Technicians { fmt.Println(tt.RunMinutes, tt.TripMinutes, tt.MaxDues, tt.Hours[1], tt.Skills, tt.Off) }
		s, _ := Plan(p)
			for i, x := range p.Sites { fmt.Printf("  site %d %v %v closed %v notice %d\n", i, x.Place, x.Access[1], x.Closed, x.NoticeDays) }
			for i, d := range p.Dues { fmt.Println("  due", i, "site", d.SiteID[15]-1, p.Today.DaysUntil(d.Earliest), p.Today.DaysUntil(d.Latest), d.Minutes, d.Skills) }
			for _, f := range p.Frozen { fmt.Println("  frozen", f.TechnicianID[15]-1, f.SiteID[15]-1, p.Today.DaysUntil(f.On), f.Start, f.Minutes) }
			for _, f := range s.Visits { fmt.Println("  visit", f.TechnicianID[15]-1, f.SiteID[15]-1, p.Today.DaysUntil(f.On), f.Start, f.Minutes, len(f.Dues), f.Drive) }
		fmt.Println(reference(p), s.Tiers)
	}
}
