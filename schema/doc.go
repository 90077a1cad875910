// Package schema is the ledger file: one SQLite database that holds clipping
// records for decades.
//
// What comes in are records ([Clipping], [Drying], [Site] and the rest), each
// already checked by itself; what is checked here is how they agree with what
// the ledger holds: identical records change nothing, blanks are completed,
// contradictions are listed and never applied unasked. What goes out are the
// views that define a dry weight (bag_dry_weight), a frame's weight per area
// with its inferred zeros (frame_production) and an occasion's mean
// (occasion_mean), and plain queries over them.
//
// Inside, weights are grams, areas square metres, densities g/m². Dates are
// ISO text. Missing is NULL, or ” and 0 inside keys. Every row names the
// import and the line it came from; every change leaves the old values in the
// table change, written by triggers, so that no path around them exists.
//
// Nothing here reads a clock or draws at random: times come in as arguments.
package schema
