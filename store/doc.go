// Package store keeps the register: the log of everything that happened in a
// crib, and the present that follows from it. One SQLite file holds both.
//
// # What it promises
//
// The log is only ever added to. A position follows the one before it without a
// gap, an envelope names the hash of the one before it, and triggers in the file
// refuse every change of a row. What [Store.Do] acknowledged is on disk (full
// sync); a power cut loses nothing that was acknowledged and leaves nothing half
// done. The present is written in the transaction of its event, so it is never
// behind the log; [Store.Rebuild] makes it again from nothing and [Store.Verify]
// says whether it would come out the same. Whoever can write the file can write it
// anew, whole in itself: [Store.VerifyAs] holds the log against a [Witness] from
// before, a copy or a head on paper, in the same pass.
//
// # How it is used
//
// [Init] makes a register and never touches one that is there; [Open] opens one
// and never makes it. Everything that changes the register is an act:
//
//	answer, err := s.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
//		sling, err := tx.Sling(ctx, id)          // read
//		…                                        // decide
//		_, err = tx.Append(ctx, event.Sling(id), sling.Heads, body)
//		return answer, err
//	})
//
// Do holds the write lock from its beginning, so nothing changes between reading
// and appending. Append names the newest events of the subject that its caller
// saw; where the story has gone on since, it is a [ConflictError] that tells how.
// An act with a key is done once: the same key with the same request gets the
// first answer again, which is how a caller finds out after [ErrUnknownOutcome].
//
// [Reader] is the same set of reads inside an act and outside one.
//
// # Copies, and bringing one back
//
// [Store.Copy] copies the register while others write it: one state of it, in one
// file that gets its name, register-LOG-POSITION.sqlite, only after it was opened
// and its chain walked. A program that is killed meanwhile leaves a draft without
// that name, which the next copy sweeps away after an hour. [Copies] lists them,
// [Prune] takes old ones away, [Store.Growth] says how fast the register grows.
//
// [Restore] makes a register from a copy. Nobody knows what happened after the
// copy, so the story goes on in a new log, from the next position, whose first
// event ([event.Restored]) names the log, position and hash it follows. Only that
// event may change the log within a chain. Every sling that was not compared in
// the log that goes on stays until it is (state.Crib.ToCompare): registering it,
// confirming a tag on it and [event.Compared] compare it. [Reader.ToCompare] counts
// what is left, [Query] lists it (NotIn). A tag of the crib's own key that says
// more than the register knows is kept as [event.TagAhead].
//
// [Examine] says what is wrong with a file that [Open] refuses. [Recover] takes a
// copy and, from the damaged file, every event beyond it that is read, follows the
// chain and has its body, up to the first that does not; nothing else. [Recovery]
// says which positions could not be brought back, and why. The hash of an envelope
// decides what is taken, so that no damage makes an event up.
//
// PINs and keys are in no copy: package desk and package keyring keep them.
//
// # Tables
//
//	log       pos, hash, subject, envelope (the bytes that are hashed)
//	body      pos, salt, body: apart from the log, held to it by a commitment
//	answered  idempotency keys with the digest of their request, the answer and a sum of both
//	crib, person, sling, tag, word, tally   the present
//
// [Store.Watch] tells of new positions, those of other programs too.
//
// # Time
//
// The newest time in the register is the floor: an event is stamped with the
// clock or that, whichever is later, and the crib's local date follows from the
// stamp. [Tx.Clock] tells whether the clock is in doubt; whoever issues slings must
// not issue then.
package store
