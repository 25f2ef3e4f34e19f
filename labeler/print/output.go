package print

import (
	"fmt"
	"io"
	"path/filepath"

	"cribgate/labeler/draft"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
)

// An Output is the files of a job while tags are put on them one by one. It
// holds one page at a time, however many there will be. It is for one goroutine.
//
//	out, err := job.Begin(n)
//	place, err := out.Add(drawing)   // for each
//	err = out.Finish()               // all is drawn
//	err = out.Keep()                 // or Drop
type Output struct {
	job    Job
	format Format
	pages  int // that are expected, for the numbers in file names
	cells  int
	added  int
	page   []sheet.Drawing // waiting for the rest of their sheet
	files  files
	pdf    *render.PDF // and its draft; nil for the other formats
	draft  *draft.Draft
	result Result
}

// A Place is where a tag was printed.
type Place struct {
	File string // its name, without a folder
	Page int    // in the file, from 1
	Cell int    // on the sheet, from 1 row by row; 0 where the page is the blank
}

// Begin opens the output for about n tags; the numbers in file names go by n.
// Drafts that killed runs left of the same files are removed.
func (j Job) Begin(n int) (*Output, error) {
	format, err := FormatOf(j.Out)
	if err != nil {
		return nil, err
	}
	// No drawings: whether the stock's paper holds together, and has that place.
	if _, err := sheet.Compose(j.Stock, nil, j.First); err != nil {
		return nil, fmt.Errorf("print: %w", err)
	}
	own := filepath.Base(j.Out)
	if err := draft.Sweep(filepath.Dir(j.Out), func(name string) bool { return isNumbered(own, name) }); err != nil {
		return nil, fmt.Errorf("print: %w", err)
	}
	cells := j.Stock.Paper.Cells()
	o := &Output{job: j, format: format, cells: cells, pages: (j.First + n + cells - 1) / cells}
	if format != PDF {
		return o, nil
	}
	if o.draft, err = o.files.begin(j.Out); err != nil {
		return nil, fmt.Errorf("print: %w", err)
	}
	o.pdf = render.NewPDF(o.draft, j.Options)
	o.result.Files = []string{j.Out}
	return o, nil
}

// Add draws a tag on the next place and says where that is.
func (o *Output) Add(d sheet.Drawing) (Place, error) {
	at := o.job.First + o.added
	o.added++
	page := at / o.cells
	place := Place{File: filepath.Base(o.job.Out), Page: page + 1}
	if o.format != PDF {
		place.File, place.Page = filepath.Base(numbered(o.job.Out, page, o.pages)), 1
	}
	if o.cells > 1 {
		place.Cell = at%o.cells + 1
	}
	o.page = append(o.page, d)
	if (at+1)%o.cells > 0 {
		return place, nil
	}
	return place, o.flush()
}

// flush writes the page that is under way.
func (o *Output) flush() error {
	first := 0
	if o.result.Pages == 0 {
		first = o.job.First
	}
	pages, err := sheet.Compose(o.job.Stock, o.page, first)
	if err != nil {
		return fmt.Errorf("print: %w", err)
	}
	o.page = o.page[:0]
	for _, page := range pages {
		if err := o.write(page); err != nil {
			return err
		}
		o.result.Pages++
	}
	return nil
}

func (o *Output) write(page sheet.Page) error {
	if o.format == PDF {
		return o.pdf.Add(page)
	}
	name := numbered(o.job.Out, o.result.Pages, o.pages)
	o.result.Files = append(o.result.Files, name)
	err := o.files.write(name, func(w io.Writer) error {
		raster, err := o.job.single(w, o.format, page)
		if err == nil {
			o.result.Raster = raster
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("print: %s: %w", name, err)
	}
	return nil
}

// single draws a page that is a file of its own.
func (j Job) single(w io.Writer, f Format, page sheet.Page) (render.Raster, error) {
	switch f {
	case SVG:
		return render.Raster{}, render.SVG(w, page, j.Options)
	case PNG:
		return render.PNG(w, page, j.DPI, j.Options)
	case DXF:
		return render.Raster{}, render.DXF(w, page, j.Options)
	}
	return render.Raster{}, fmt.Errorf("print: page as %q: %w", f, ErrFormat)
}

// Empty tells whether no tag was added.
func (o *Output) Empty() bool { return o.added == 0 }

// Finish draws what is still to be drawn. The files are whole and on the disk,
// and have no names yet.
func (o *Output) Finish() error {
	if len(o.page) > 0 {
		if err := o.flush(); err != nil {
			return err
		}
	}
	if o.pdf == nil {
		return nil
	}
	if err := o.pdf.Close(); err != nil {
		return err
	}
	if err := o.draft.End(); err != nil {
		return fmt.Errorf("print: %w", err)
	}
	return nil
}

// Keep gives the files their names.
func (o *Output) Keep() error {
	if err := o.files.keep(); err != nil {
		return fmt.Errorf("print: %w", err)
	}
	return nil
}

// Drop removes the files, whether or not they have their names.
func (o *Output) Drop() error {
	if err := o.files.drop(); err != nil {
		return fmt.Errorf("print: %w", err)
	}
	return nil
}

// Result says what was written.
func (o *Output) Result() Result { return o.result }

// Prove writes a tag to nowhere. What the format cannot do with the stock, such
// as a module of less than a dot, comes out before anything is recorded.
func (j Job) Prove(d sheet.Drawing) error {
	format, err := FormatOf(j.Out)
	if err != nil {
		return err
	}
	return j.stream(io.Discard, format, []sheet.Drawing{d})
}

// stream writes drawings to w: a PDF of them all, or the one page that they make.
func (j Job) stream(w io.Writer, f Format, drawings []sheet.Drawing) error {
	pages, err := sheet.Compose(j.Stock, drawings, j.First)
	if err != nil {
		return fmt.Errorf("print: %w", err)
	}
	if f != PDF {
		if len(pages) != 1 {
			return fmt.Errorf("print: %d pages as %q: a file holds one page", len(pages), f)
		}
		_, err := j.single(w, f, pages[0])
		return err
	}
	doc := render.NewPDF(w, j.Options)
	for _, page := range pages {
		if err := doc.Add(page); err != nil {
			return err
		}
	}
	return doc.Close()
}
