// Package event holds what the register is made of: who and what it speaks of
// (the ids), the envelope that chains the facts, and the closed list of facts
// with their strict encoding.
//
// A fact is an [Envelope] and a body. The envelope is hashed exactly as the
// bytes stored; it names its log and its position there without gaps, the hash
// of the envelope before it, its subject and the envelopes of that subject that
// its writer had seen (its parents), and a commitment to the body: SHA-256 of a
// random salt and the body. Body and salt lie apart, so that a person's data can
// go without breaking the chain: an [Erased] says what is left of a body without
// it, and no verdict follows from what goes ([Unnamed], [Untold]).
//
// Subjects are the crib itself, a person, or a sling. The story of one subject
// is ordered by parents, ties by hash, never by arrival or clock.
//
// A body is a JSON object in one spelling: members in a fixed order, no spaces.
// [Decode] takes exactly what [Encode] writes. A kind or schema that this
// program does not know is no error at this level: Decode says [ErrUnknown], and
// whoever folds the story marks its subject as not understood.
//
// A lift that was stated, and for which no sling went out yet, is a [StatedLift]: the
// one type for it, wherever it is kept. What went out has it in its [Line] and in the
// question of its [Verdict].
package event
