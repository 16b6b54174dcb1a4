// Package store keeps everything Ventdue knows in one bbolt file.
//
// Every bbolt type stays in here. Above it there are transactions (View, Update), one table per noun with its
// ordered indexes, and the few things that must happen in exactly one place: reconciling dues, minting calendar
// UIDs and raising their SEQUENCE, waking rows, the audit trail.
//
// # Layout
//
// A record lies under its 16-byte ID in the bucket of its noun: one version byte, then CBOR with integer
// keys. An index row lies in a bucket of its own ("ix.<noun>.<index>"): the ordered key, then the record's
// ID. Index rows are written by the tables alone, in the transaction that writes the record. A bucket is made when
// something is first put into it: every page that a commit touches costs, and the root page lists all buckets.
//
// A field may be added with a new CBOR number and is read as zero from older records. Any other change is a new
// layout: raise it in upgrade.go, add the step, keep a file of the old layout in testdata. A program refuses records
// with a field it does not know, since writing them again would lose it.
package store
