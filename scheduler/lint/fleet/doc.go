// Package fleet holds only tests: simulated fleets of exhaust vent runs on which due dates are scored against a fixed
// calendar.
//
// The simulated world shares no code with the model it judges: it has its own duct physics, its own laws by which lint
// grows, its own errors of people and instruments. It knows the nouns of package vent, because that is the language in
// which a planner is told what was found.
package fleet
