// Package bench keeps inspections that nobody has signed yet: what was typed of each
// sling, field by field as text, in one SQLite file of its own beside the register.
//
// A draft is no evidence. The register hears of an inspection when it is signed, and
// the draft is dropped then. The package knows a sling and a person by their ids and
// does not know what a field means.
//
// Entry points: [Open] opens the file and makes it where there is none. [Bench.Save]
// keeps fields, [Bench.Draft] gives them back, [Bench.LayAside] and [Bench.TakeUp] hand
// a draft from one person to another, [Bench.Drop] ends it.
//
// Invariants:
//   - What Save returned nil for is on the disk: it outlasts a reload, the end of the
//     program and a power cut.
//   - A draft has one holder. Whoever else saves is told who has it ([HeldError]); who
//     saves from a page that is older than the draft is told so ([StaleError]). In
//     both cases nothing is written.
//   - Sizes are bounded ([ErrFull]), so that no page fills the disk.
package bench
