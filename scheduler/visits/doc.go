// Package visits decides who goes where on which day: it gathers what is due into visits, looks a year ahead, and says
// which appointments can still be offered. It has no clock, no store and no chance: the same question gets the same answer.
//
// A trip is one technician at one site on one day. Plans are compared tier by tier, each only where those before it are equal:
//
//  1. late: dues that are not done within their window
//  2. trips
//  3. wishes not met: a weekday that a customer asked for, a building that is done in more than one go
//  4. drive: minutes on the road, from home over the sites and back
//  5. wait: days that dues wait, each counted by how pressing it is
//
// One site without limits is exact: taking the due that closes first, and with it every due that is open on its last day,
// is the least number of days that meets every window (interval stabbing). Everything else is built the same way with
// limits and then improved by taking parts of the plan out and putting them back better, for a counted number of trials;
// the plan states a lower bound for the tiers beside what it reached.
package visits
