package bulk

import (
	"bufio"
	"fmt"
	"io"
	"path/filepath"

	"cribgate/core/strict"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
)

// A Plan is what a run has decided before it does anything. It does not change,
// and it holds no secret. Its file has a line for the run and then one for each
// sling, in JSON of one spelling: what is read is what was written, or nothing.
type Plan struct {
	Run      string // id, 32 lower-case hex digits
	Log      string // id of the register's log, spelled like that
	Key      tagcode.Fingerprint
	Prefix   string
	Register string // path of the register's file when the run was begun
	Template string // name of the stock for slings without one of their own
	Own      string // text of its file where it is none of the embedded ones
	Format   print.Format
	DPI      int // 0 but for PNG
	Outline  bool
	Period   printtemplates.Colour
	First    int
	Entries  []Entry
	Left     []Left // found before the run began
}

// An Entry is one tag that is to be printed.
type Entry struct {
	Ident   string
	Serial  tagcode.Serial
	Stock   string
	Unknown string // stock of the sling's last tag, where it is not known here
}

// Left is a sling that is left out.
type Left struct {
	Ident string
	Why   string
}

// Write writes the plan.
func (p Plan) Write(w io.Writer) error {
	buf := bufio.NewWriter(w)
	line := func(data []byte, err error) error {
		if err == nil {
			_, err = buf.Write(append(data, '\n'))
		}
		return err
	}
	err := line(p.head())
	for i := 0; i < len(p.Entries) && err == nil; i++ {
		err = line(p.Entries[i].line())
	}
	for i := 0; i < len(p.Left) && err == nil; i++ {
		err = line(p.Left[i].line())
	}
	if err == nil {
		err = buf.Flush()
	}
	if err != nil {
		return fmt.Errorf("bulk: write the plan: %w", err)
	}
	return nil
}

func (p Plan) head() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	w.Int("format", 1)
	w.Str("run", p.Run)
	w.Str("log", p.Log)
	w.Str("key", p.Key.String())
	w.Str("prefix", p.Prefix)
	w.Str("register", p.Register)
	w.Str("template", p.Template)
	w.Str("own", p.Own)
	w.Str("output", string(p.Format))
	w.Int("dpi", int64(p.DPI))
	w.Bool("outline", p.Outline)
	w.Str("period", p.Period.String())
	w.Int("first", int64(p.First))
	w.Int("entries", int64(len(p.Entries)))
	w.Int("left", int64(len(p.Left)))
	w.End()
	return w.Bytes()
}

func (e Entry) line() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	w.Str("id", e.Ident)
	w.Int("serial", int64(e.Serial))
	w.Str("stock", e.Stock)
	if e.Unknown != "" {
		w.Str("unknown", e.Unknown)
	}
	w.End()
	return w.Bytes()
}

func (l Left) line() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	w.Str("id", l.Ident)
	w.Str("why", l.Why)
	w.End()
	return w.Bytes()
}

// job is how the tags on a stock are printed into a directory.
func (p Plan) job(dir string, stock printtemplates.Stock) print.Job {
	j := print.Job{Stock: stock, Out: filepath.Join(dir, stock.Name+string(p.Format)), Period: p.Period, DPI: p.DPI}
	j.Options.Outline = p.Outline
	if stock.Name == p.Template {
		j.First = p.First
	}
	return j
}
