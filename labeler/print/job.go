package print

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// Format is a kind of output file.
type Format string

// The formats, as file names end.
const (
	PDF Format = ".pdf"
	SVG Format = ".svg"
	PNG Format = ".png"
	DXF Format = ".dxf"
)

// Formats lists the formats in the order in which they are named.
func Formats() []Format { return []Format{PDF, SVG, PNG, DXF} }

// Errors of a job.
var (
	ErrFormat = errors.New("output ends in none of .pdf, .svg, .png, .dxf")
	ErrNoTags = errors.New("nothing to print")
)

// A Job says how tags are printed.
type Job struct {
	Stock   printtemplates.Stock
	Out     string // file; its ending is the format
	First   int    // places of the first sheet that are taken already, for stock on paper
	Period  printtemplates.Colour
	DPI     int // of a PNG
	Options render.Options
}

// A Result says what a job wrote.
type Result struct {
	Files  []string
	Pages  int
	Raster render.Raster // of a PNG; zero for the others
}

// FormatOf returns the format that a file's ending names, in either case.
func FormatOf(file string) (Format, error) {
	f := Format(strings.ToLower(filepath.Ext(file)))
	if !slices.Contains(Formats(), f) {
		return "", fmt.Errorf("print: %s: %w", file, ErrFormat)
	}
	return f, nil
}

func (t Tag) draw(j Job) (Drawn, sheet.Drawing, error) { return j.Draw(t) }

// Draw lays a tag out. It fails with a figure where the stock has no room for
// what the tag says, before anything is recorded of it.
func (j Job) Draw(t Tag) (Drawn, sheet.Drawing, error) {
	s, err := t.Encode()
	if err != nil {
		return Drawn{}, sheet.Drawing{}, err
	}
	d, err := sheet.Layout(j.Stock, t.content(s, j.Period))
	if err != nil {
		return Drawn{}, sheet.Drawing{}, fmt.Errorf("print: %w", err)
	}
	return Drawn{Tag: t, Printed: t.printed(j.Stock, s)}, d, nil
}

// Write prints the tags. A PDF holds them all; of the other formats a file holds
// one page: several pages go to files beside Out, numbered in their order,
// out-001.png for out.png, and Out itself is not written.
//
// Files are drawn beside their names first. Then, where before is not nil, it
// is called with what was drawn: what must be recorded before a tag may exist is
// recorded there. Only then do the files get their names. Where anything fails,
// or ctx ends, no file is left.
func (j Job) Write(ctx context.Context, tags []Tag, before func([]Drawn) error) (Result, error) {
	return write(ctx, j, tags, before)
}

func write[T item](ctx context.Context, j Job, items []T, before func([]Drawn) error) (Result, error) {
	if len(items) == 0 {
		return Result{}, fmt.Errorf("print: %s: %w", j.Out, ErrNoTags)
	}
	out, err := j.Begin(len(items))
	if err != nil {
		return Result{}, err
	}
	drawn := make([]Drawn, 0, len(items))
	err = drawAll(ctx, j, items, func(t Drawn, d sheet.Drawing) error {
		drawn = append(drawn, t)
		_, err := out.Add(d)
		return err
	})
	if err == nil {
		err = out.Finish()
	}
	if err == nil && before != nil {
		err = before(drawn)
	}
	if err == nil {
		err = out.Keep()
	}
	if err != nil {
		return Result{}, errors.Join(err, out.Drop())
	}
	return out.Result(), nil
}

// numbered is the name of file i, from 0, out of n.
func numbered(out string, i, n int) string {
	if n == 1 {
		return out
	}
	ending := filepath.Ext(out)
	digits := max(3, len(fmt.Sprint(n)))
	return fmt.Sprintf("%s-%0*d%s", strings.TrimSuffix(out, ending), digits, i+1, ending)
}

// isNumbered tells whether a file is one of those that numbered names for out.
func isNumbered(out, file string) bool {
	ending := filepath.Ext(out)
	number, begins := strings.CutPrefix(strings.TrimSuffix(file, ending), strings.TrimSuffix(out, ending)+"-")
	return file == out || begins && filepath.Ext(file) == ending && len(number) >= 3 && strings.Trim(number, "0123456789") == ""
}
