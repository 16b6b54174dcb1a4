package visits

import (
	"time"

	"ventdue/vent"
)

// zoneTable collects the zones of a problem with their minutes from UTC on each day, at noon: working hours lie on one side
// of a change of clocks.
type zoneTable struct {
	today   vent.Date
	days    int
	number  map[string]int32
	offsets [][]int32
}

// of numbers a zone; -1 for none.
func (z *zoneTable) of(loc *time.Location) int32 {
	if loc == nil {
		return -1
	}
	if n, ok := z.number[loc.String()]; ok {
		return n
	}
	n := int32(len(z.offsets))
	z.number[loc.String()] = n
	days := make([]int32, z.days)
	for i := range days {
		_, seconds := z.today.AddDays(i).At(12*60, loc).Zone()
		days[i] = int32(seconds / 60)
	}
	z.offsets = append(z.offsets, days)
	return n
}
