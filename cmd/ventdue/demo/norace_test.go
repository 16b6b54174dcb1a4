//go:build !race

package demo

// raced says whether the race detector is at work.
const raced = false
