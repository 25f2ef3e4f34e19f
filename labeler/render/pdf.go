package render

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// ErrNoTag is what PDF.Close returns for a document without pages.
var ErrNoTag = errors.New("render: write PDF: no tag in it")

// A PDF is a document of pages. Text is text, in embedded fonts, so that it can
// be searched and read aloud. It is for one goroutine.
type PDF struct {
	w        io.Writer
	doc      *fpdf.Fpdf
	options  Options
	embedded map[printtemplates.Font]bool
}

// NewPDF begins a document that is written to w.
func NewPDF(w io.Writer, o Options) *PDF {
	doc := fpdf.New("P", "pt", "A4", "")
	// A document states when it was made; a fixed day keeps equal tags equal.
	day := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	doc.SetCreationDate(day)
	doc.SetModificationDate(day)
	doc.SetCatalogSort(true)
	doc.SetProducer("labeler", false)
	doc.SetTitle("QR tags", false)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	return &PDF{w: w, doc: doc, options: o, embedded: map[printtemplates.Font]bool{}}
}

// points is a length in PDF points, 1/72 inch.
func points(l quantity.Length) float64 { return float64(l) * 72 / float64(quantity.Inch) }

// Add draws the next page.
func (p *PDF) Add(page sheet.Page) error {
	p.doc.AddPageFormat("P", fpdf.SizeType{Wd: points(page.Width), Ht: points(page.Height)})
	p.doc.RawWriteStr(string(areas(page, p.options)))
	for _, d := range page.Placed {
		for _, t := range d.Texts {
			p.setFont(t)
			p.doc.SetTextColor(0, 0, 0)
			if t.Colour == sheet.Second {
				p.doc.SetTextColor(int(d.Tint.R), int(d.Tint.G), int(d.Tint.B))
			}
			p.doc.Text(points(d.At.X+t.At.X), points(d.At.Y+t.At.Y), t.String)
		}
	}
	if err := p.doc.Error(); err != nil {
		return fmt.Errorf("render: draw %q: %w", page.Title, err)
	}
	return nil
}

// setFont embeds the font the first time that it is used.
func (p *PDF) setFont(t sheet.Text) {
	name := "go" + strconv.Itoa(int(t.Font))
	if !p.embedded[t.Font] {
		p.doc.AddUTF8FontFromBytes(name, "", sheet.FontFile(t.Font))
		p.embedded[t.Font] = true
	}
	p.doc.SetFont(name, "", points(t.Size))
}

// Close ends the document. It fails with ErrNoTag where it has no page.
func (p *PDF) Close() error {
	if p.doc.PageCount() == 0 {
		return ErrNoTag
	}
	if err := p.doc.Output(p.w); err != nil {
		return fmt.Errorf("render: write PDF: %w", err)
	}
	return nil
}

// areas draws all but the text, in micrometres from the top left corner of the
// page and of each drawing, the symbol in modules.
func areas(page sheet.Page, o Options) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "q %.10f 0 0 -%.10f 0 %.4f cm\n", points(1), points(1), points(page.Height))
	for _, path := range page.Crop {
		pdfPath(&b, path)
	}
	for _, d := range page.Placed {
		fmt.Fprintf(&b, "q 1 0 0 1 %d %d cm\n", d.At.X, d.At.Y)
		grid(&b, d.Symbol)
		for _, a := range d.Ink {
			if a.Colour == sheet.Second {
				fmt.Fprintf(&b, "%.4f %.4f %.4f rg\n", float64(d.Tint.R)/255, float64(d.Tint.G)/255, float64(d.Tint.B)/255)
			} else {
				b.WriteString("0 g\n")
			}
			pdfPath(&b, a.Path)
		}
		if o.Outline {
			b.WriteString("0 g\n")
			for _, path := range d.Blank {
				pdfPath(&b, path)
			}
		}
		b.WriteString("Q\n")
	}
	b.WriteString("Q")
	return b.Bytes()
}

// grid fills the symbol's dark areas.
func grid(b *bytes.Buffer, s sheet.Symbol) {
	if s.Module == 0 {
		return
	}
	fmt.Fprintf(b, "q %d 0 0 %d %d %d cm\n", s.Module, s.Module, s.At.X, s.At.Y)
	for _, outline := range s.Contours() {
		step := " m\n"
		for _, c := range outline {
			b.Write(strconv.AppendInt(b.AvailableBuffer(), int64(c.X), 10))
			b.WriteByte(' ')
			b.Write(strconv.AppendInt(b.AvailableBuffer(), int64(c.Y), 10))
			b.WriteString(step)
			step = " l\n"
		}
		b.WriteString("h\n")
	}
	b.WriteString("f Q\n")
}

func place(b *bytes.Buffer, p sheet.Point) {
	number(b, p.X)
	b.WriteByte(' ')
	number(b, p.Y)
	b.WriteByte(' ')
}

// pdfPath fills a path.
func pdfPath(b *bytes.Buffer, p sheet.Path) {
	for i, seg := range p {
		if seg.Op == sheet.Move && i > 0 {
			b.WriteString("h ")
		}
		for _, q := range seg.Points() {
			place(b, q)
		}
		b.WriteByte("mlc"[seg.Op])
		b.WriteByte(' ')
	}
	b.WriteString("h f\n")
}
