// Package sqlite opens the SQLite files of this project and is the only package
// that knows the driver. It decides how a file is opened, kept and migrated; it
// knows nothing of what is in it.
//
// [Create] makes a file: it is built under another name in the same directory,
// filled, closed, synced and only then linked to its own name, so that there is
// never half a file, and never one in the place of another. [Open] never
// creates. It refuses, without changing a byte, a file that another program
// made ([ErrNotOurs]), one of a newer program ([ErrNewer]) and one whose
// migrations were edited afterwards ([ErrEdited]); it brings an older one up to
// date.
//
// An open [DB] has two pools: Write, of one connection, whose transactions take
// the write lock when they begin, and Read, whose connections cannot write.
// Every connection has the same settings, all in its connection string but the
// one that has no place there:
//
//	journal_mode        WAL    readers and the writer do not wait for each other
//	synchronous         FULL   a commit that returned is on disk (the driver's own default is NORMAL)
//	foreign_keys        on
//	transactions        immediate, on Write; a deferred one can fail instead of waiting
//	busy_timeout        5 s
//	wal_autocheckpoint  0      set when the connection is made: a checkpoint is never part of a commit
//
// [DB.CopyTo] copies one state of the file while others read and write it, to a
// file of one piece; [OpenCopy] reads such a file without writing a byte, and
// [Place] and [Replace] give a draft its name so that it outlasts a power cut.
//
// [DB.Tx] runs one write transaction. What it returns says what is on disk: nil,
// all of it; [ErrUnknownOutcome], nobody knows; any other error, nothing. After
// an unknown outcome the next transaction first makes sure that nothing was
// written, so that whoever asks again is told what is so.
//
// Checkpoints run beside the writer. The first commit after the write-ahead log
// starts again has to sync that log's header too; the package makes that commit
// itself, at opening and after each checkpoint, so that a commit of the caller
// costs exactly one sync.
package sqlite
