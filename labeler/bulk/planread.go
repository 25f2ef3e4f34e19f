package bulk

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"

	"cribgate/core/strict"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
)

// maxEntries bounds a plan; a crib has some thousand slings.
const maxEntries = 1_000_000

// maxLine bounds a line of a plan; the first holds the text of a stock's file.
const maxLine = 1 << 20

// ReadPlan reads what Write wrote. Everything else is ErrPlan; the plan is zero
// then.
func ReadPlan(r io.Reader) (Plan, error) {
	p, err := readPlan(r)
	if err != nil {
		return Plan{}, fmt.Errorf("bulk: read the plan: %w: %w", ErrPlan, err)
	}
	return p, nil
}

func readPlan(r io.Reader) (Plan, error) {
	lines := planLines{Scanner: bufio.NewScanner(r)}
	lines.Buffer(nil, maxLine)
	lines.Split(wholeLines)
	var p Plan
	var entries, left int
	err := lines.next("run", func(o *strict.Object) {
		p, entries, left = readHead(o)
	}, func() ([]byte, error) {
		counted := p // as head counts what is still to be read
		counted.Entries, counted.Left = make([]Entry, entries), make([]Left, left)
		return counted.head()
	})
	if err != nil {
		return Plan{}, err
	}
	seen := make(map[string]bool, min(entries, 1<<16))
	p.Entries, p.Left = make([]Entry, 0, min(entries, 1<<16)), make([]Left, 0, min(left, 1<<16))
	for range entries {
		var e Entry
		err := lines.next("entry", func(o *strict.Object) {
			if e = readEntry(o); seen[e.Ident] {
				o.Fail("id", "%s is there already", e.Ident)
			}
		}, func() ([]byte, error) { return e.line() })
		if err != nil {
			return Plan{}, err
		}
		seen[e.Ident] = true
		p.Entries = append(p.Entries, e)
	}
	for range left {
		var l Left
		err := lines.next("left", func(o *strict.Object) {
			l = Left{Ident: readIdent(o), Why: o.Str("why")}
		}, func() ([]byte, error) { return l.line() })
		if err != nil {
			return Plan{}, err
		}
		p.Left = append(p.Left, l)
	}
	if lines.Scan() {
		return Plan{}, fmt.Errorf("line %d: there is more than the plan says", lines.n+1)
	}
	return p, lines.Err()
}

func readHead(o *strict.Object) (p Plan, entries, left int) {
	o.Int("format", 1, 1)
	p = Plan{Run: readID(o, "run"), Log: readID(o, "log")}
	var err error
	if p.Key, err = tagcode.ParseFingerprint(o.Str("key")); err != nil {
		o.Fail("key", "not a key fingerprint")
	}
	p.Prefix, p.Register = o.Str("prefix"), o.Str("register")
	p.Template, p.Own = o.Str("template"), o.Str("own")
	if p.Format = print.Format(o.Str("output")); !slices.Contains(print.Formats(), p.Format) {
		o.Fail("output", "not one of %q", print.Formats())
	}
	p.DPI = int(o.Int("dpi", 0, 1<<16))
	p.Outline = o.Bool("outline")
	if name := o.Str("period"); name != "" {
		if p.Period, err = printtemplates.ParseColour(name); err != nil {
			o.Fail("period", "not a colour of a period")
		}
	}
	p.First = int(o.Int("first", 0, 1<<16))
	entries, left = int(o.Int("entries", 1, maxEntries)), int(o.Int("left", 0, maxEntries))
	return p, entries, left
}

func readEntry(o *strict.Object) Entry {
	return Entry{
		Ident:   readIdent(o),
		Serial:  tagcode.Serial(o.Int("serial", 1, int64(tagcode.MaxSerial))),
		Stock:   o.Str("stock"),
		Unknown: o.OptStr("unknown", ""),
	}
}

func readIdent(o *strict.Object) string {
	ident := o.Str("id")
	if tagcode.CheckIdent(ident) != nil {
		o.Fail("id", "not an identification")
	}
	return ident
}

func readID(o *strict.Object, name string) string {
	id := o.Str(name)
	if b, err := hex.DecodeString(id); err != nil || len(b) != 16 || hex.EncodeToString(b) != id {
		o.Fail(name, "not an id")
	}
	return id
}

// planLines reads a plan line by line.
type planLines struct {
	*bufio.Scanner
	n int
}

// next reads the next line, and holds it against the spelling of what was read.
func (l *planLines) next(what string, read func(*strict.Object), spell func() ([]byte, error)) error {
	if !l.Scan() {
		return errors.Join(fmt.Errorf("line %d is missing", l.n+1), l.Err())
	}
	l.n++
	v, err := strict.Parse(l.Bytes())
	if err != nil {
		return fmt.Errorf("line %d: %w", l.n, err)
	}
	o := strict.Open(what, v)
	read(o)
	if err := o.Done(); err != nil {
		return fmt.Errorf("line %d: %w", l.n, err)
	}
	if again, err := spell(); err != nil || !bytes.Equal(again, l.Bytes()) {
		return errors.Join(fmt.Errorf("line %d is spelled in another way", l.n), err)
	}
	return nil
}

// wholeLines splits at line feeds; what comes after the last one is an error.
func wholeLines(data []byte, atEOF bool) (advance int, token []byte, err error) {
	if i := bytes.IndexByte(data, '\n'); i >= 0 {
		return i + 1, data[:i], nil
	}
	if atEOF && len(data) > 0 {
		return 0, nil, errors.New("the last line has no end")
	}
	return 0, nil, nil
}
