// Package desk knows who may sit at the counter: it keeps PINs, sign-in
// sessions and lockouts in one SQLite file of its own, outside the register.
//
// The register says who a person is and which roles they hold; the desk knows
// only the person's id and whether the PIN typed is theirs. It never decides
// what a person may do, never stores a PIN and never writes one to a log.
//
// Entry points: [Init] makes the file, [Open] opens it. [Desk.SetOneTime]
// gives a person a one-time PIN ([Desk.SetOneTimeFor] where the request may come
// twice), [Desk.Verify] checks one that was typed, [Desk.Choose] replaces a one-time PIN by one of the person's own choice.
// [Desk.Sessions] are the signed-in browsers. [Desk.Forget] takes out whatever
// tells of a person.
//
// Invariants:
//   - A wrong PIN is counted before it is checked, so ending the program in the
//     middle of a check gives nobody a free guess.
//   - After the second wrong PIN each further try must wait, longer each time;
//     after [MaxFailures] the person is locked until a keeper gives a new
//     one-time PIN (NIST SP 800-63B 5.2.2 allows at most 100).
//   - A session is good only for the PIN it was opened with: setting another
//     PIN ends every session of that person.
//   - One PIN is hashed at a time, since each takes 64 MiB; who finds the queue
//     full is told so ([ErrBusy]).
package desk
