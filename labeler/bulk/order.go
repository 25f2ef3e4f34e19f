// Package bulk prints the tags of many slings of a register, so that a run that
// is killed at any moment goes on where it was and never gives a serial twice.
//
// A run has a directory of its own. [Start] chooses the slings, says for each
// which serial and which stock its tag is to have, and puts that [Plan] on the
// disk before anything else. [Run.Work] then takes the plan part by part: it
// makes and lays out the tags of a part, records them in the register in one act,
// and draws them. What cannot be laid out is left out before it is recorded, with
// the figure. Files get their names when all is drawn, beside them the report:
// each sling's tag with file and page, and each that was left out with the
// reason.
//
// The act of a part has a key that follows from the run's id. A run that was
// killed is taken up by [Resume] with the same plan: the register answers for the
// parts that it knows, and their tags are drawn once more as they were; it
// records the others. So the files of a run come out the same, byte for byte,
// however often it was killed, as long as the slings' records stay as they were.
// What somebody else changed meanwhile is left out and reported, also where a tag
// was recorded already: it waits at the counter and lapses there.
package bulk

import (
	"errors"

	"cribgate/core/quantity"
	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/printtemplates"
	"cribgate/store"
)

// Errors of runs.
var (
	ErrUnfinished = errors.New("a run in that directory is not finished")
	ErrDone       = errors.New("the run in that directory is done")
	ErrNoRun      = errors.New("there is no run in that directory")
	ErrNotEmpty   = errors.New("the directory holds other files")
	ErrPlan       = errors.New("not the plan of a run")
	ErrOther      = errors.New("the run is of another register")
	ErrList       = errors.New("the list cannot be used")
	ErrNothing    = errors.New("no sling to print a tag for")
)

// An Order says what a run is to print.
type Order struct {
	Selection
	Register string // path of the register's file, for whoever takes the run up again
	Template printtemplates.Stock
	Own      string // text of Template's file, where it is none of the embedded ones
	Restock  bool   // all on Template, whatever stock a sling's last tag was on
	Format   print.Format
	DPI      int // of PNG; else 0
	Outline  bool
	Period   printtemplates.Colour
	First    int // places that are taken of the first sheet of Template
}

// A Selection says which slings. What is given of it must all hold; the zero
// Selection is of all slings.
type Selection struct {
	Since  quantity.Date // last inspected on that day or later
	Place  string        // hangs at that rack place or under it, see Under
	Idents []string      // one of these, by the owner's identification
}

// A Summary says what a run has come to.
type Summary struct {
	Printed int
	Left    []Left // out, in the order of the report
	Files   []string
	Report  string
	Head    store.Head      // where the register stood then: not in the report, which is the same however often the run was killed
	Rasters []render.Raster // of PNGs, one a stock
}
