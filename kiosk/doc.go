// The kiosk keeps the register of a crib's chain slings and serves its counter.
//
// It supports, and never replaces, the competent person, the maker's instructions
// and the local law.
//
// Each flag is also a setting: where it is not given, the environment is asked
// (CRIBGATE_REGISTER for --register), and then the file that --settings names, of
// lines NAME = VALUE; # begins a line that is not read.
//
//	Usage:
//
//	  kiosk COMMAND
//
//	Commands:
//
//	  assess       Answer measurements: may this sling stay in service?
//	  backup       Copy the register while it is in use
//	  decide       Answer questions: may this sling go out for this lift?
//	  due          Answer records: when is this sling due next?
//	  init         Make a register, its key and its first keeper
//	  pin          Give a person a one-time PIN from the console
//	  read         Read the QR symbol in pictures
//	  recover      Bring a damaged register back from a copy and what can still be read of it
//	  restore      Bring a register back from a copy
//	  serve        Serve the counter to browsers
//	  verify       Walk the register's chain from end to end
//	  version      Print the version
//
// # kiosk assess
//
// Reads measurements of slings from standard input, one JSON object a line, and
// answers each with a verdict (fit, hold, out) and its findings. A line that cannot
// be understood gets an "error", and the exit status is then 1.
//
//	Usage:
//
//	  kiosk assess
//
// # kiosk backup
//
// Makes a copy of the register in a directory, beside a kiosk that goes on serving:
// one file, register-LOG-POSITION.sqlite. It gets that name only after it was opened
// and its chain walked to the end, as verify does; a copy that was killed half-way
// has no name and is swept away later.
//
// PINs and sessions are not copied: after a restore everybody gets a new PIN. Keys
// are copied only with --keys, to the directory keys beside the copies; whoever has
// a key can make tags, so keep them apart from the copies where you can. Put the
// directory on another disk than the register's: a copy beside it burns with it.
//
// Write the head that is printed on paper. It tells years later whether a register
// is the one that it was.
//
//	Usage:
//
//	  kiosk backup [flags]
//
//	Flags:
//
//	      --keys              copy the keys as well, to the directory keys beside the copies
//	      --register string   directory of the register, or its register.sqlite (default "crib")
//	      --to string         directory of the copies (required)
//
// # kiosk decide
//
// Reads questions from standard input, one JSON object a line, and answers each on
// standard output, one a line, in order. The verdict is "issue" exactly when no
// reason stands against it. A line that cannot be understood gets an "error", and
// the exit status is then 1.
//
//	Usage:
//
//	  kiosk decide
//
// # kiosk due
//
// Reads records of thorough inspections from standard input, one JSON object a
// line, and answers each with the day by which the next one is due. A line that
// cannot be understood gets an "error", and the exit status is then 1.
//
//	Usage:
//
//	  kiosk due
//
// # kiosk init
//
// Makes the directory of a new register: the register itself, the desk file with
// PINs and sessions, and a key that seals tags. It prints a one-time PIN for the
// first keeper, who changes it when signing in for the first time. Nothing that is
// there already is touched.
//
// Keep a copy of the keys directory apart from the machine: whoever has a key can
// make tags.
//
//	Usage:
//
//	  kiosk init [flags]
//
//	Flags:
//
//	      --keeper string     name of the first keeper (required)
//	      --name string       name of the crib (required)
//	      --prefix string     in front of each tag's text, HTTPS://HOST/ in capitals; none by default
//	      --register string   directory of the register, or its register.sqlite (default "crib")
//	      --rules string      inspection intervals: us, en, uk or yard (default "us")
//	      --units string      units that lead on pages: lb-in or kg-mm (default "lb-in")
//	      --zone string       time zone of the crib, such as America/Chicago (default "UTC")
//
// # kiosk pin
//
// Gives the person with that name a one-time PIN, which lifts a lock and ends that
// person's sessions. Where the desk file is gone, a new one is made first. It is for
// the keeper who is locked out: whoever can write the register's directory can do it,
// and the register says that it was done.
//
//	Usage:
//
//	  kiosk pin [flags]
//
//	Flags:
//
//	      --name string       the person's name as it stands in the register (required)
//	      --register string   directory of the register, or its register.sqlite (default "crib")
//
// # kiosk read
//
// Reads the QR symbol in each picture (PNG, JPEG, GIF or WebP) and writes one line
// a file: the file's name, a tab and the text; or the name, a tab, "!", a tab and
// the reason where it does not read. Tabs, line feeds and carriage returns in a
// text are written as \t, \n and \r. With --times each line starts with the
// milliseconds that the file took, decoding included, and a tab.
//
// With --register a symbol that is too worn to be read is compared with the tags that
// hang on the slings of a register: the name, a tab, "~", a tab and the text of the one
// that it resembles, where a wrong one is less likely than one in 10^12. A likeness is
// not a reading: a sling goes out by it only with the end of its plate's
// identification.
//
//	Usage:
//
//	  kiosk read IMAGE... [flags]
//
//	Flags:
//
//	      --register string   compare what cannot be read with the tags of this register: its file or directory
//	      --times             put the milliseconds that each file took in front of its line
//
// # kiosk recover
//
// Makes a register in a new directory from a copy and from what a damaged register
// tells beyond it: event after event, as long as each can be read, follows the one
// before it in the chain and has its body. It stops at the first that does not, and
// says what could not be brought back. The damaged register is not changed; stop the
// kiosk that serves it first, and keep it.
//
// The rest is as for restore: a new log, and every sling stays until tag, plate and
// record were compared.
//
//	Usage:
//
//	  kiosk recover [flags]
//
//	Flags:
//
//	      --copy string        a copy of it (required)
//	      --keys-from string   directory of the key files to put beside the register
//	      --out string         directory of the new register; it must not be there yet (required)
//	      --register string    directory of the damaged register, or its register.sqlite (default "crib")
//	      --why string         what happened; the register keeps it (required)
//
// # kiosk restore
//
// Makes a register in a new directory from a copy that backup made. The copy is
// walked to its end first and is not changed.
//
// What happened after the copy is not in the register, and nobody knows what it was.
// So the register goes on in a new log, whose first event says from which copy it
// was made and why, and every sling stays until tag, plate and record were compared:
// at the counter the tag is scanned on the sling and the end of the plate's
// identification typed. A tag that knows more than the register is refused and
// listed. Take back what comes back as usual.
//
//	Usage:
//
//	  kiosk restore [flags]
//
//	Flags:
//
//	      --from string        the copy (required)
//	      --keys-from string   directory of the key files to put beside the register
//	      --register string    directory of the new register; it must not be there yet (default "crib")
//	      --why string         why it is brought back; the register keeps it (required)
//
// # kiosk serve
//
// Opens the register and serves its pages until it is interrupted. By default only
// this machine can reach it; --listen 0.0.0.0:8480 lets the local network in, where
// the pages should stand behind a server that speaks TLS: --behind-tls then keeps
// the cookies off every other way.
//
// Beside the counter the whole register is verified once a day, slowly. Where it
// does not hold, every page says so and nothing is handed out until it holds again.
//
// --copy-to has copies of the register made in a directory, best on another disk,
// which has to be there: one when the newest is as old as --copy-every. They are what
// backup makes; --keep and --keep-days say which stay. The pages say when no copy
// could be made, and days before a disk is full.
//
// --day-sheet-to has the day sheet printed by itself once a day at --day-sheet-at, by the
// crib's clock: the lifts of the day and what is set aside for them, and the rack place by
// place, for the day the power goes. It is ipp://HOST/PATH, ipps://HOST/PATH or
// tcp://HOST:PORT. What could not be printed is tried again until the day is over, and the
// page of the day says so. Without it the sheet is there on that page, as PDF.
//
//	Usage:
//
//	  kiosk serve [flags]
//
//	Flags:
//
//	      --behind-tls              browsers reach the kiosk through a server that speaks TLS
//	      --copy-every duration     how often a copy is made (default 1h0m0s)
//	      --copy-to string          directory of the copies; without it none are made
//	      --day-sheet-at string     time of day at which it is printed, by the crib's clock (default "05:30")
//	      --day-sheet-to string     URL of the printer of the day sheet; without it none is printed by itself
//	      --keep int                how many of the newest copies stay (default 24)
//	      --keep-days int           for how many days the last copy of each stays as well (default 30)
//	      --listen string           address and port to serve on (default "127.0.0.1:8480")
//	      --log string              form of the log on standard error: text or json (default "text")
//	      --register string         directory of the register, or its register.sqlite (default "crib")
//	      --verify-every duration   how often the whole register is verified; 0 for never (default 24h0m0s)
//
// # kiosk verify
//
// Reads every envelope and body of the register in one pass: positions without
// gaps, each hash of the one before, parents, commitments, spelling; then tells the
// whole story again and holds it against the present. It changes nothing and may
// run beside the kiosk. It says where the chain breaks, and prints the head as a
// sheet of paper shows it.
//
// Whoever can write the file can write all of it anew, and it holds in itself then.
// --against tells: it takes a copy of the register, or a head off a sheet that was
// filed, as position and digits in quotes ("17 3f2a9c01", more digits are better)
// or as the text of the sheet's symbol, and says whether that is in the chain.
//
//	Usage:
//
//	  kiosk verify [flags]
//
//	Flags:
//
//	      --against string    a copy of the register, or a head on paper such as "17 3f2a9c01"
//	      --register string   directory of the register, or its register.sqlite (default "crib")
//
// # kiosk version
//
// Prints the version of the program: a release, or the commit that it was built
// from, with "+dirty" where the files differed from it; "dev" where that is not known.
//
//	Usage:
//
//	  kiosk version
package main
