// Package faults says what follows from what was found: which faults are raised, kept, reopened and put right,
// what a part check explains and what is checked next, what an open one-shot fuse demands, what a sign asks for,
// when recurring checks come round, and which dues all of that makes.
//
// It is pure: facts in, records wanted out. It has no clock; a function that depends on the day takes it. Which
// rules there are is data: see vent/rules. A fault is never deleted here: it is open, fixed by somebody, or waived
// by somebody until a day, after which it is open again.
package faults
