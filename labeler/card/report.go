package card

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/report"
	"cribgate/core/tagcode"
	"cribgate/core/trade"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// A Report is a report of thorough examination on paper. It says what package report
// says, in the order in which it says it, and nothing else. The zero Report is not
// drawn.
type Report struct {
	Words trade.List // in which headings and the caution are said
	Of    report.Report
	Under string       // of which sling, in which crib
	Foot  string       // where the register stood, in words
	Head  tagcode.Head // the same as a symbol on each page; zero: none is drawn
}

// Sheets is what is drawn on sheets of paper, as many as it needs.
type Sheets interface {
	Draw(p Paper) ([]sheet.Drawing, error)
}

// A report's page, upright, and its parts.
const (
	reportFoot = 26 * mm
	reportLaw  = 34 * mm // column of the clauses
	reportName = 46 * mm // column of the names
	reportType = 3200 * quantity.Micrometre
	reportGap  = 1500 * quantity.Micrometre
)

// A block is a part of a report that is not broken over pages.
type block struct {
	height quantity.Length
	keep   bool // with the next one on a page
	draw   func(b *sheet.Builder, y quantity.Length)
}

// Draw lays the report out on upright sheets, as many as it needs. It fails with one of
// package sheet's errors where a text does not fit.
func (r Report) Draw(on Paper) ([]sheet.Drawing, error) {
	p := reportPage{Report: r, width: min(on.Width, on.Height), height: max(on.Width, on.Height)}
	p.left, p.right = slipMargin, p.width-slipMargin
	blocks, err := p.blocks()
	if err != nil {
		return nil, fmt.Errorf("card: draw %s: %w", r.Of.Title, err)
	}
	pages := p.paginate(blocks)
	var list []sheet.Drawing
	for n, page := range pages {
		d, err := p.page(page, n+1, len(pages))
		if err != nil {
			return nil, fmt.Errorf("card: draw %s: %w", r.Of.Title, err)
		}
		list = append(list, d)
	}
	return list, nil
}

// reportPage is a report and the paper it is drawn on.
type reportPage struct {
	Report
	width, height, left, right quantity.Length
}

func (p reportPage) top() quantity.Length    { return slipMargin + 18*mm }
func (p reportPage) bottom() quantity.Length { return p.height - slipMargin - reportFoot }

// paginate puts blocks on pages, a heading never last.
func (p reportPage) paginate(blocks []block) (pages [][]block) {
	var page []block
	y := p.top()
	for i, b := range blocks {
		need := b.height
		for j := i; blocks[j].keep && j+1 < len(blocks); j++ {
			need += blocks[j+1].height
		}
		if y+need > p.bottom() && len(page) > 0 {
			pages, page, y = append(pages, page), nil, p.top()
		}
		page, y = append(page, b), y+b.height
	}
	return append(pages, page)
}

func (p reportPage) page(blocks []block, n, of int) (sheet.Drawing, error) {
	b := sheet.NewBuilder(fmt.Sprintf("%s %s, page %d", p.Of.Title, p.Of.Number, n), p.width, p.height, slipMargin-2*mm)
	b.Label(sheet.Label{String: p.Words.Say(p.Of.Title), Font: printtemplates.Bold, Size: 6 * mm, Smallest: 3 * mm, At: pt(p.left, slipMargin+7*mm), Room: p.right - p.left - 45*mm})
	b.Label(sheet.Label{String: "No. " + p.Of.Number + ", page " + strconv.Itoa(n) + " of " + strconv.Itoa(of), Size: 3 * mm, Smallest: smallest, At: pt(p.right, slipMargin+7*mm), Align: printtemplates.Right, Room: 42 * mm})
	b.Label(sheet.Label{String: printable(p.Under), Size: 3400, Smallest: smallest, At: pt(p.left, slipMargin+13*mm), Room: p.right - p.left})
	y := p.top()
	for _, each := range blocks {
		each.draw(b, y)
		y += each.height
	}
	p.foot(b)
	return b.Drawing()
}

func (p reportPage) foot(b *sheet.Builder) {
	y, right := p.height-slipMargin-reportFoot+4*mm, p.right
	if p.Head != (tagcode.Head{}) {
		right -= headSide + mm
		drawHead(b, p.Head, pt(right+mm, y))
	}
	y += b.Paragraph(sheet.Paragraph{String: p.Words.Say(p.Of.Caution), Size: 2800, Smallest: smallest, Box: box(p.left, y, right, y+12*mm)}) + mm
	b.Paragraph(sheet.Paragraph{String: p.Foot, Font: printtemplates.Bold, Size: 2800, Smallest: smallest, Box: box(p.left, y, right, p.height-slipMargin)})
}

// tall is higher than any part of a report.
const tall = 2 * quantity.Metre

// measure gives the height of what is drawn.
func (p reportPage) measure(draw func(b *sheet.Builder, y quantity.Length) quantity.Length) (quantity.Length, error) {
	b := sheet.NewBuilder("measure", p.width, tall, slipMargin-2*mm)
	height := draw(b, slipMargin)
	_, err := b.Drawing()
	return height, err
}

// blocks are the parts of the report from its head to its last measurement.
func (p reportPage) blocks() (list []block, err error) {
	add := func(keep bool, draw func(b *sheet.Builder, y quantity.Length) quantity.Length) {
		height, failed := p.measure(draw)
		if err == nil {
			err = failed
		}
		list = append(list, block{height: height + reportGap, keep: keep, draw: func(b *sheet.Builder, y quantity.Length) { draw(b, y) }})
	}
	text := func(s string, font printtemplates.Font, size, left, right quantity.Length) func(b *sheet.Builder, y quantity.Length) quantity.Length {
		return func(b *sheet.Builder, y quantity.Length) quantity.Length {
			return b.Paragraph(sheet.Paragraph{String: s, Font: font, Size: size, Smallest: size, Box: box(left, y, right, y+tall/2)})
		}
	}
	add(true, text(p.Of.Verdict+".", printtemplates.Bold, 6*mm, p.left, p.right))
	if p.Of.Standing != "" {
		add(true, text(p.Of.Standing, printtemplates.Bold, 4*mm, p.left, p.right))
	}
	for _, s := range p.Of.Sections {
		add(true, p.heading(s.Heading))
		for _, i := range s.Items {
			add(false, func(b *sheet.Builder, y quantity.Length) quantity.Length {
				name := p.left + reportLaw
				says := name + reportName
				var said quantity.Length
				for _, each := range i.Says {
					said += text(printable(inPieces(each)), printtemplates.Regular, reportType, says, p.right)(b, y+said)
				}
				return max(said,
					text(i.Law, printtemplates.Regular, 2800, p.left, name-2*mm)(b, y),
					text(p.Words.Say(i.Name), printtemplates.Bold, reportType, name, says-2*mm)(b, y))
			})
		}
	}
	if len(p.Of.Measured) > 0 {
		add(true, p.heading("Measured"))
		add(true, p.row(true, [5]string{"What", "New", "Found", "Limits", "By"}))
	}
	for _, m := range p.Of.Measured {
		add(false, p.row(m.Grade > removal.Note, [5]string{m.What, m.New, m.Found, m.Limit, m.Rule}))
	}
	return list, err
}

// longest is the longest word that stays in one piece.
const longest = 32

// inPieces puts spaces into words that no column has room for: digests, and what
// somebody typed without any.
func inPieces(text string) string { return inPiecesOf(text, longest) }

// inPiecesOf does so with words of more than so many letters.
func inPiecesOf(text string, longest int) string {
	words := strings.Fields(text)
	for i, w := range words {
		var pieces []string
		letters := []rune(w)
		for len(letters) > longest {
			pieces, letters = append(pieces, string(letters[:longest])), letters[longest:]
		}
		words[i] = strings.Join(append(pieces, string(letters)), " ")
	}
	return strings.Join(words, " ")
}

// printable puts a question mark for each letter that the face lacks: what somebody
// typed is on the page as it was typed, and a report that cannot be printed helps nobody.
func printable(text string) string {
	lacks := func(s string) bool {
		b := sheet.NewBuilder("letters", tall, tall, 0)
		b.Label(sheet.Label{String: s, Size: smallest, Smallest: smallest, At: pt(mm, tall/2), Room: tall})
		_, err := b.Drawing()
		return errors.Is(err, sheet.ErrGlyph)
	}
	if !lacks(text) {
		return text
	}
	return strings.Map(func(r rune) rune {
		if lacks(string(r)) {
			return '?'
		}
		return r
	}, text)
}

func (p reportPage) heading(s string) func(b *sheet.Builder, y quantity.Length) quantity.Length {
	return func(b *sheet.Builder, y quantity.Length) quantity.Length {
		b.Rule(box(p.left, y+mm, p.right, y+mm+rule))
		return 2*mm + b.Paragraph(sheet.Paragraph{String: p.Words.Say(s), Font: printtemplates.Bold, Size: 4 * mm, Smallest: 4 * mm, Box: box(p.left, y+2*mm, p.right, y+tall/2)})
	}
}

// row is a line of the table of measurements; what crossed a limit is in bold type.
func (p reportPage) row(bold bool, cells [5]string) func(b *sheet.Builder, y quantity.Length) quantity.Length {
	font := printtemplates.Regular
	if bold {
		font = printtemplates.Bold
	}
	return func(b *sheet.Builder, y quantity.Length) (height quantity.Length) {
		width, at := p.right-p.left, p.left
		for n, share := range []quantity.Length{29, 14, 18, 20, 19} { // per cent of the width
			next := at + width*share/100
			height = max(height, b.Paragraph(sheet.Paragraph{String: cells[n], Font: font, Size: 2800, Smallest: 2800, Box: box(at, y, next-2*mm, y+tall/2)}))
			at = next
		}
		return height
	}
}
