// Package lint believes: from what is known of a run, its use and its findings it works out how much lint the run
// holds, how fast it grows, and the chance of being past the limit on any day.
//
// # The model
//
// Nobody has published a law by which lint grows in a dryer's duct. This one is ours; it is plain, and it is judged by
// simulated fleets that share no code with it (see the README) and by the fixed calendar it replaces.
//
//   - State: b, the share of the bore's radius that is lost, 0 clean to 1 closed (see airflow).
//   - Growth: in one cycle, from one cleaning to the next, b = r (h + n): n loads dried since the cleaning, h loads
//     that were, so to speak, left behind by it; under the rough manner it quickens as the bore narrows. log r is normal. Its prior median comes from the run (prior.go); it is
//     the run's own and drifts slowly from cycle to cycle, and every cycle has a chance deviation around it.
//   - A poor cleaning leaves a share of what had grown; which share is not known, so a few are weighed (quality.go).
//   - Readings of air are compared with the clean value of the version, which is itself not known: computed from the
//     route, corrected by what was read after cleanings, any of which may hide lint that was left (evidence.go).
//   - How evenly a run is used, cleaned and read is not known: four manners are carried along, from steady to rough, and
//     how well each foretold the findings decides how much it counts; neighbours share what they teach of it (manner.go).
//   - A cycle can be odd: a nest or a crushed elbow. Then what was found says nothing of growth.
//
// Everything is summed on a grid of growth and clean value: exact up to the grid, no sampling, the same answer on every machine.
package lint
