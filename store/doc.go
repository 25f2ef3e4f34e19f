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
//	erased    what is left of bodies that were taken out
//	answered  idempotency keys with the digest of their request, the answer and a sum of both,
//	          which go after thirty days ([Store.ForgetAnswers])
//	crib, person, sling, tag, word, tally, drawn, planned   the present
//
// [Store.Watch] tells of new positions, those of other programs too.
//
// # Erasing
//
// [Tx.ErasePerson] takes a name out of the register: bodies that have it are
// deleted, and an event [event.Erased] in the story of each says what is left of
// them, which counts from then on. Envelopes, chain and verdicts stay.
// [Store.Verify] takes a missing body only where a later event of the chain says
// that it was erased, and what is left only as it says. The file is written anew
// right after it, so that no byte of the name is left in it ([Store.Sweep]); old
// blocks that the disk no longer counts to any file are beyond a program's reach.
//
// What was erased is on a list beside the register (the file "erasures", strict
// lines, written and synced before the act is), which [Store.Copy] carries beside
// the copies. [Open] and [Restore] erase what is on the list before anybody reads
// the register, see [Store.ApplyErasures]; so an older copy does not bring a name
// back, and an act that a power cut has interrupted is ended.
//
// # Time
//
// The register's newest time is the floor, and within one start of the machine the
// floor rises with its uptime, which nobody can set ([Clock]). A clock more than
// two minutes behind the floor, or more than a day ahead of it, is in doubt, and
// whoever issues slings must not issue then. A leap ahead stays in doubt until
// keeper and inspector confirm the date ([event.DateConfirmed]), even where the
// clock goes back by itself: nobody knows which of the two was right. Where the
// clock lies behind and is right all the same, they correct the register
// ([event.ClockCorrected]), the one event that may be earlier than the one before
// it.
//
// In doubt an event is stamped with the least that the time can be, and marked on
// its envelope. What is due is decided by the latest day that it may be, what may
// have happened by the latest day that is sure ([Clock.Today], [Clock.Reached]): no
// wrong clock makes an overdue sling good.
//
// What passed while the machine was off, or before the first event after it was
// started where the program was ended in between, is known by the clock alone: one
// that went wrong then, by less than a day and to a time after the newest event, is
// not found out.
package store
