package store

import (
	"bytes"
	"fmt"
	"maps"
	"slices"

	"ventdue/scheduler/lint"
	"ventdue/vent"
)

const (
	lessonBucket = "lesson"       // site, run -> what the run teaches its neighbours
	buildBucket  = "lesson.build" // build key -> the sum over its runs
)

// Lessons gives what the runs of a site teach each other.
func (tx *Tx) Lessons(site vent.ID) (all []lint.Summary, err error) {
	prefix := key{}.id(site)
	err = tx.scan(lessonBucket, prefix, end(prefix), func(_, b []byte) error {
		var s lint.Summary
		if err := tx.codec.unmarshal(b, &s); err != nil {
			return fmt.Errorf("lesson at site %s: %w", site, err)
		}
		all = append(all, s)
		return nil
	})
	return all, err
}

// AllLessons gives what every run teaches.
func (tx *Tx) AllLessons() (all []lint.Summary, err error) {
	err = tx.scan(lessonBucket, nil, nil, func(_, b []byte) error {
		var s lint.Summary
		if err := tx.codec.unmarshal(b, &s); err != nil {
			return fmt.Errorf("lesson: %w", err)
		}
		all = append(all, s)
		return nil
	})
	return all, err
}

// BuildLesson gives what all runs of a build teach; zero where there is nothing.
func (tx *Tx) BuildLesson(build string) (t lint.Tally, err error) {
	b := tx.get(buildBucket, key{}.text(build))
	if b == nil {
		return t, nil
	}
	if err := tx.codec.unmarshal(b, &t); err != nil {
		return t, fmt.Errorf("lesson of build %q: %w", build, err)
	}
	return t, nil
}

// SetLessons replaces all lessons by these. They are worked out from records and can always be worked out again: an export
// leaves them out.
func (tx *Tx) SetLessons(all []lint.Summary) error {
	rows, builds := map[string]any{}, map[string]any{}
	tallies := map[string]lint.Tally{}
	for _, s := range all {
		rows[string(key{}.id(s.SiteID).id(s.RunID))] = s
		if s.Build != "" {
			t := tallies[s.Build]
			t.Add(s)
			tallies[s.Build] = t
		}
	}
	for b, t := range tallies {
		builds[string(key{}.text(b))] = t
	}
	if err := tx.replaceRows(lessonBucket, rows); err != nil {
		return err
	}
	return tx.replaceRows(buildBucket, builds)
}

// replaceRows makes a bucket hold exactly the rows, writing only what differs.
func (tx *Tx) replaceRows(bucket string, rows map[string]any) error {
	var gone [][]byte
	if err := tx.scan(bucket, nil, nil, func(k, _ []byte) error {
		if _, stays := rows[string(k)]; !stays {
			gone = append(gone, bytes.Clone(k))
		}
		return nil
	}); err != nil {
		return err
	}
	for _, k := range gone {
		if err := tx.delete(bucket, k); err != nil {
			return err
		}
	}
	for _, k := range slices.Sorted(maps.Keys(rows)) {
		data, err := tx.codec.marshal(rows[k])
		if err != nil {
			return err
		}
		if bytes.Equal(tx.get(bucket, []byte(k)), data) {
			continue
		}
		if err := tx.put(bucket, []byte(k), data); err != nil {
			return err
		}
	}
	return nil
}
