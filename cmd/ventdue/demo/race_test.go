//go:build race

package demo

// raced says that the race detector is at work, under which playing a scenario takes ten times as long.
const raced = true
