// Package airflow computes what a clothes dryer's exhaust duct does to the air:
// its code length (the number a building rule compares with a limit), its
// resistance, the point at which blower and duct agree on a flow, and, the other
// way round, how much lint a reading of speed, flow or pressure stands for.
//
// Two lengths are never mixed up. Code length adds the rule's fixed length per
// fitting to the straight duct and knows nothing of air (CodeLength). Resistance
// is Darcy-Weisbach with Colebrook friction and loss coefficients (System).
//
// Lint is one number b: the share of the bore's radius that is lost, 0 clean,
// 1 closed. It narrows every section and roughens the wall.
//
// Everything is SI inside; units live in the types, and both systems are
// available at the edge (Feet, CFM, InchesWater and the Parse functions). The
// package is pure: no clock, no input or output, no state.
//
// Figures carry the basis they rest on: "read" was seen in the named
// publication, "computed" is arithmetic on a read formula, "memory" is recalled
// and not found in a document, "common practice" is a habit of the trade.
package airflow
