// The labeler prints QR tags for chain slings: what a sling is, when it was inspected
// and when it is due, for a machine and for people. It prints badges, lift slips and
// cards too, sends them to a printer, and grades what came out.
//
// A QR tag never stands in for the maker's rating tag. The labeler supports, and
// never replaces, the competent person, the maker's instructions and the local law.
//
// Each flag is also a setting: where it is not given, the environment is asked
// (CRIBGATE_REGISTER for --register), and then the file that --settings names, of
// lines NAME = VALUE; # begins a line that is not read.
//
//	Usage:
//
//	  labeler COMMAND
//
//	Commands:
//
//	  bulk         Print tags for many slings of a register, and take up a stopped run
//	  card         Draw a sling's pocket card, or a go/no-go card for a chain size
//	  check        Read a printed tag back and grade the print
//	  key          Make a key that seals tags
//	  print        Print tags, badges or lift slips to a file or a printer
//	  send         Send a PDF or PNG to a printer and follow it until it is printed
//	  templates    List the stocks, one a line, the name first
//	  version      Print the version
//
// # labeler bulk
//
// Prints the next tags of many slings of a register into a new directory: a file for
// each stock, or of SVG, PNG and DXF a file a page, and report.tsv, which says of
// each sling on which page its tag is, or why it has none.
//
// Which slings: --all; those inspected on a day or later; those that hang at a rack
// place or under it (B-1 is also B-1 peg 3 and B-1/2, not B-10); those of a list, one
// identification a line. What is given of it must all hold. Slings that are retired,
// lost or in doubt, and those whose tag the stock has no room for, are left out, and
// the report says so.
//
// A sling's tag goes on the stock that its last one was on, where that is known, else
// on --template; --restock puts all on --template. --first-cell says from which place
// on the first sheet of --template is used, row by row from 1.
//
// A run that was stopped, or whose machine went down, is taken up with --resume: tags
// that the register has already are drawn once more as they were, the others follow,
// and no serial is used twice. Files get their names when all are drawn. Each tag is
// confirmed at the counter once it hangs on its sling; what is not confirmed lapses.
//
//	Usage:
//
//	  labeler bulk --register PATH --template NAME --out DIR (--all | --inspected-since DATE | --place PLACE | --list FILE) | --resume DIR [flags]
//
//	Flags:
//
//	      --all                   all slings
//	      --dpi int               dots an inch of a PNG (default 300)
//	      --first-cell place      first place that is free on the first sheet of --template (default 1)
//	      --format kind           kind of the files: pdf, svg, png, dxf (default "pdf")
//	      --inspected-since day   slings whose last thorough inspection was on that day or later, YYYY-MM-DD
//	      --list file             slings of a file, one identification a line; - for standard input
//	      --out directory         new directory for the files of the run
//	      --outline               draw the edge of the blank and its hole too, for a proof
//	      --period colour         colour of the period, for stocks that show one: red, orange, yellow, green, blue, violet
//	      --place place           slings that hang at that rack place or under it
//	      --register path         path of the register; with --resume where it has moved since
//	      --restock               put all on --template, whatever stock their last tag was on
//	      --resume directory      directory of a stopped run to take up
//	      --template name         name of the stock for slings without one of their own, or a file of your own that ends in .json
//
//	Examples:
//
//	  labeler bulk --register ./crib --template plate-50x80 --out march --inspected-since 2026-03-01
//	  labeler bulk --register ./crib --template disc-70 --out rack-b --place B --period blue
//	  labeler bulk --resume march
//
// # labeler card
//
// Draws a card true to size. A PDF holds all pages; of the other formats a file
// holds one, so that two pages go to numbered files, out-001.svg for out.svg. The
// smallest type is 2 mm. Print it at 100 %, without scaling.
//
// A pocket card says what one sling may carry, by hitch, legs used and angle, on two
// sides of A6, as the gate would decide on that day: --sling of a --register, or the
// one line of --in, a sling object of the machine surface with "id" and "outcome". A
// sling that is held, retired, lost, unchecked, overdue or in doubt gets none. A line
// says nothing of the site's policy: --choke strict is for a site that allows no
// choke above 75 %.
//
// A go/no-go card, --gauge, is for a chain size: slots to cut out, as wide as the
// least thickness of a link, and a lane to lay a run of links along, with lines at
// the limits of growth. Its bars are measured before use; it can only fail a chain.
//
// Cards support, and never replace, the competent person, the maker's instructions
// and the local law. The rating tag on the sling governs.
//
//	Usage:
//
//	  labeler card (--register PATH --sling ID | --in FILE | --gauge --system S --size N --grade N) --out FILE [flags]
//
//	Flags:
//
//	      --choke policy           policy of chokes for --in: listed or strict (default "listed")
//	      --dpi int                dots an inch of a PNG (default 600)
//	      --gauge                  a go/no-go card for a chain size
//	      --grade grade            grade of the chain: 80, 100 or 120
//	      --in file                file of one line, a sling object, for its pocket card; - for standard input
//	      --out file               output file, ending in .pdf, .svg, .png, .dxf
//	      --paper sheet            sheet of a go/no-go card: a4, a3, letter or ledger; letter for us, a4 for en by default
//	      --register path          path of a register, for a pocket card of one of its slings
//	      --size size              chain size as it is stamped: 3/8, 10
//	      --sling identification   owner's identification of that sling
//	      --system system          system of the size: us or en
//
//	Examples:
//
//	  labeler card --register ./crib --sling CS-0417 --out card.pdf
//	  labeler card --gauge --system us --size 3/8 --grade 80 --out gauge.pdf
//
// # labeler check
//
// Reads a picture of a fresh print back, says what the tag says, and grades the print
// by the parameters of ISO/IEC 15415 that a camera can give without being calibrated:
// which it cannot give, and why, stands below. A picture that is too small, blurred,
// askew or dazzled is no verdict on the print: take another one.
//
// With --register it says which sling the tag was printed for and whether it waits to
// be confirmed; with --key, whether the tag was made with that key. Without either
// nobody has asked who made it.
//
// The exit status is 0 where every print is C or better and each tag is what it was
// asked to be; else 1. With --json each picture is one line: figures are in thousandths,
// null where a parameter cannot be given.
//
// A grade is of the print. It says nothing of the sling: whether that may go out is
// decided at the counter.
//
//	Usage:
//
//	  labeler check IMAGE... [--register DIR | --key FILE] [flags]
//
//	Flags:
//
//	      --json            write one JSON object a picture
//	      --key file        key file that the tags were made with
//	      --register path   path of the register that the tags were printed from
//
//	Examples:
//
//	  labeler check photo.jpg
//	  labeler check --register ./crib --json photo.jpg
//
// # labeler key
//
// Draws a key and writes it to a new file that only its owner can read. It prints
// the key's fingerprint, which every tag made with the key carries.
//
// A register has its own keys, made by kiosk init; this is for tags printed from
// lines. Keep a copy: tags made with a lost key can no longer be told from forged
// ones where there is no record of them.
//
//	Usage:
//
//	  labeler key --out FILE [flags]
//
//	Flags:
//
//	      --out file   the new key file
//
// # labeler print
//
// Prints one tag or thousands on a stock, to PDF, SVG, PNG or DXF by the ending of
// --out, or to the printer that --to names, or both. A PDF holds all tags; of the
// others a file holds one page, and several pages go to numbered files, out-001.png
// for out.png. A run that fails before all is drawn leaves no file.
//
// With --in, each line is a sling object of the machine surface, and in it "id"
// (the owner's identification, up to 16 characters), "serial" (the tag's, 1 to
// 1023), "outcome" (fit, hold, out; null without an inspection) beside "inspected"
// and "due". --key names the key that seals them; labeler key makes one. A line that
// cannot be printed is named, with its reason, and nothing is printed.
//
// On stock for badges each line has "person" (the id in the register), "name", "crib",
// "role" (attendant, rigger, inspector, keeper), "badge" (1 to 1023, never used twice
// for one person) and, where it ends, "until". A badge names a person to the counter
// and permits nothing. On stock for lift slips each line is a question as kiosk decide
// takes it, whose "id" is the sling's and whose lift has "return_by", and in it "slip"
// (its number), "name", "crib" and "what" is lifted. Only what the gate answers with
// "issue" is printed, with its figures; the counter decides again. Slips are not
// printed from a register.
//
// With --register, the next tags of the register's slings are printed, and the
// register then knows them: of those named with --sling, else of all that are
// neither retired nor lost. The register's own key and prefix are used.
//
// On stock for badges, --register prints the next badge of each person named with
// --person, else of everybody here who has none that is good. Whoever has a last day
// has it on the badge. The badges printed for the same person before are no longer
// good at the counter: so a lost one is made useless.
//
// With --to, the printer gets a PDF where it takes one, else a PNG (always with
// --dpi), and is followed until it says that it has printed: labeler help send says
// how. The printer is asked first; then the register notes the tags; then they are
// sent. Tags that did not come out, or of which nobody knows, are listed, and the
// next run prints the ones after them.
//
// On stock that is a sheet of many, --first-cell says which place is the first that is
// free, row by row from 1. --period is the colour of the period, for stock that shows
// one.
//
// A PNG has modules of whole dots; where that makes them smaller than the stock
// says, by how much is said.
//
//	Usage:
//
//	  labeler print --template NAME (--in FILE --key FILE | --register PATH [--sling ID…] [--person NAME…]) (--out FILE | --to URL) [flags]
//
//	Flags:
//
//	      --dpi int                dots an inch of a PNG (default 300)
//	      --first-cell place       first place that is free on the first sheet (default 1)
//	      --in file                file of what to print, one JSON object a line; - for standard input
//	      --key file               key file for --in
//	      --out file               output file; its ending is one of pdf, svg, png, dxf
//	      --outline                draw the edge of the blank and its hole too, for a proof
//	      --patience time          time without any change after which a job is cancelled (default 1h0m0s)
//	      --period colour          colour of the period, for stocks that show one: red, orange, yellow, green, blue, violet
//	      --person name            name of a person of the register, for a badge; may be given again
//	      --prefix address         address in front of each tag's text for --in: HTTPS://HOST/, up to 23 characters
//	      --printer-ca file        file of certificates in PEM that vouch for an ipps printer, instead of the system's
//	      --register path          path of a register, instead of --in
//	      --sling identification   owner's identification of a sling of the register; may be given again
//	      --template name          name of the stock, or a file of your own that ends in .json
//	      --to URL                 URL of a printer: ipp://HOST/PATH, ipps://HOST/PATH or tcp://HOST:PORT
//
//	Examples:
//
//	  labeler print --template plate-50x80 --in slings.jsonl --key crib.key --out tags.pdf
//	  labeler print --template disc-70 --register ./crib --sling CS-0417 --out tag.png --dpi 600
//	  labeler print --template disc-70 --register ./crib --sling CS-0417 --to ipp://printer.example/ipp/print
//	  labeler print --template badge --register ./crib --person "K. Dorn" --out badge.pdf
//
// # labeler send
//
// Sends a PDF or a PNG to a printer and follows it until the printer says what became
// of it. It says "printed" only when the printer says that the job is finished:
// accepted is not printed. While it waits, each change is told on a terminal, such
// as that there is no media.
//
// --to is ipp://HOST/PATH, ipps://HOST/PATH or tcp://HOST:PORT. ipps is encrypted, and
// the printer has to prove itself: --printer-ca names the certificates of your own
// authority, where the system does not know it. The printer is told to keep sizes;
// where it does not say that it can, that is said, and one print should be measured.
//
// tcp is a raw socket, for a printer that takes PDF or PNG as it comes. It says nothing
// back, so that the file is sent and no more is known; the exit status is 0 then too.
//
// A job without any change for --patience is cancelled, and so is one that is
// interrupted. Where the printer vanishes, it is not known what was printed, and that
// is what is said.
//
//	Usage:
//
//	  labeler send FILE --to URL [flags]
//
//	Flags:
//
//	      --patience time     time without any change after which a job is cancelled (default 1h0m0s)
//	      --printer-ca file   file of certificates in PEM that vouch for an ipps printer, instead of the system's
//	      --to URL            URL of a printer: ipp://HOST/PATH, ipps://HOST/PATH or tcp://HOST:PORT
//
//	Examples:
//
//	  labeler send tags.pdf --to ipp://printer.example/ipp/print
//	  labeler send tag.png --to tcp://192.0.2.7:9100
//
// # labeler templates
//
// Lists the stocks, one a line and a tab between: its name, what it is for (tag,
// badge, slip), its size, what it is made of, in how many colours it is printed,
// and a title. The name is what print takes as --template.
//
// With --preview, each is drawn into a folder with invented content and the edge of
// the blank: NAME.png, and for a sheet of many NAME-sheet.png too, of which the
// first row has been used before. The symbol on a preview is no tag's. The files
// are listed instead of the stocks.
//
//	Usage:
//
//	  labeler templates [--preview DIR] [flags]
//
//	Flags:
//
//	      --preview folder   folder to draw each stock into
//
//	Examples:
//
//	  labeler templates
//	  labeler templates --preview ./pictures
//
// # labeler version
//
// Prints the version of the program: a release, or the commit that it was built
// from, with "+dirty" where the files differed from it; "dev" where that is not known.
//
//	Usage:
//
//	  labeler version
package main
