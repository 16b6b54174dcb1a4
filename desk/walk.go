package desk

import "iter"

// collectUpTo gathers at most max values of a walk and stops at its first error.
func collectUpTo[T any](walk iter.Seq2[T, error], max int) ([]T, error) {
	var all []T
	for v, err := range walk {
		if err != nil {
			return nil, err
		}
		if all = append(all, v); len(all) == max {
			break
		}
	}
	return all, nil
}
