package command

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"cribgate/core/quantity"
	"cribgate/labeler/draft"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// previewText is what the symbol of a preview says, so that a picture of a stock
// is never read as a tag.
const previewText = "THISISAPICTUREOFASTOCKANDNOTATAGTHISISAPICTUREOFASTOCKANDNOTATAG"

// preview draws each stock into a folder, NAME.png, and of one on paper a sheet
// too whose first row has been used before, NAME-sheet.png. It gives the files.
func preview(dir string) ([]string, error) {
	names, err := printtemplates.List()
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, fmt.Errorf("templates: make the folder of previews: %w", err)
	}
	var files []string
	for _, name := range names {
		stock, err := printtemplates.Open(name)
		if err != nil {
			return nil, err
		}
		d, err := previewOf(stock, previewCode)
		if err != nil {
			return nil, err
		}
		pages := map[string]sheet.Page{name + ".png": d.Page()}
		if n := stock.Paper.Cells(); n > 1 {
			all := slices.Repeat([]sheet.Drawing{d}, n-stock.Paper.Columns)
			sheets, err := sheet.Compose(stock, all, stock.Paper.Columns)
			if err != nil {
				return nil, err
			}
			pages[name+"-sheet.png"] = sheets[0]
		}
		for _, file := range []string{name + ".png", name + "-sheet.png"} {
			page, ok := pages[file]
			if !ok {
				continue
			}
			path := filepath.Join(dir, file)
			if err := writePreview(path, page); err != nil {
				return nil, err
			}
			files = append(files, path)
		}
	}
	return files, nil
}

// previewCode is the short code on a preview.
const previewCode = "03A-MZ3-TR1"

// previewOf lays invented content out on a stock, a tag with a short code.
func previewOf(stock printtemplates.Stock, code string) (sheet.Drawing, error) {
	s, err := symbol.Encode(previewText)
	if err != nil {
		return sheet.Drawing{}, fmt.Errorf("templates: %w", err)
	}
	c := sheet.Content{Kind: stock.Kind, Symbol: s, Facts: map[printtemplates.Word]string{
		printtemplates.ID: "NS-0417", printtemplates.Size: "3/8 in", printtemplates.Grade: "Grade 80",
		printtemplates.Legs: "2 legs", printtemplates.Reach: "7 ft 10 1/2 in",
		// US OSHA, Guidance on Safe Sling Use, table 1.
		printtemplates.LoadName: "Rated load", printtemplates.Load: "12,300 lb", printtemplates.Angle: "at 60° from horizontal",
		printtemplates.Inspected: "Nov 2025", printtemplates.Crib: "North Sluice crib",
	}}
	switch stock.Kind {
	case printtemplates.Tag:
		due, ok := quantity.NewDate(2026, 11, 10)
		if !ok {
			return sheet.Drawing{}, fmt.Errorf("templates: no such day")
		}
		c.Due, c.FirstYear, c.Period = due, 2025, printtemplates.Blue
		c.Facts[printtemplates.Code] = code
	case printtemplates.Badge:
		c.Facts[printtemplates.Name], c.Facts[printtemplates.Role] = "Robin Field", "Rigger"
		c.Facts[printtemplates.Until], c.Facts[printtemplates.Code] = "31 Oct 2026", "Badge 7"
	case printtemplates.Slip:
		maps.Copy(c.Facts, map[printtemplates.Word]string{
			printtemplates.Name: "Robin Field", printtemplates.Issued: "1 Apr 2026", printtemplates.Until: "3 Apr 2026",
			printtemplates.Lift: "Pump casing, 9,000 lb", printtemplates.Hitch: "Straight, legs 60° from horizontal",
			printtemplates.Required: "9,000 lb", printtemplates.Allowed: "12,300 lb", printtemplates.Code: "Slip 81",
		})
	}
	return sheet.Layout(stock, c)
}

// previewDPI are the resolutions of a preview, finest first, at which modules
// come out as whole dots; previewDots is how many dots it may have.
var previewDPI = []int{203, 150, 100}

const previewDots = 420_000

func writePreview(path string, page sheet.Page) error {
	dpi := previewDPI[len(previewDPI)-1]
	for _, d := range previewDPI {
		dots := int64(page.Width) * int64(d) / int64(quantity.Inch) * (int64(page.Height) * int64(d) / int64(quantity.Inch))
		if dots <= previewDots {
			dpi = d
			break
		}
	}
	var b bytes.Buffer
	if _, err := render.PNG(&b, page, dpi, render.Options{Outline: true}); err != nil {
		return err
	}
	img, err := png.Decode(&b)
	if err != nil {
		return fmt.Errorf("templates: read preview: %w", err)
	}
	few := image.NewPaletted(img.Bounds(), shades(page.Placed[0].Tint))
	draw.Draw(few, few.Rect, img, image.Point{}, draw.Src)
	b.Reset()
	if err := png.Encode(&b, few); err != nil {
		return fmt.Errorf("templates: encode preview: %w", err)
	}
	if err := save(path, b.Bytes()); err != nil {
		return fmt.Errorf("templates: preview: %w", err)
	}
	return nil
}

// save writes a file, whole or not at all.
func save(path string, data []byte) error {
	file, err := draft.Create(path)
	if err != nil {
		return err
	}
	_, err = file.Write(data)
	if err == nil {
		err = file.End()
	}
	if err == nil {
		err = file.Keep()
	}
	if err != nil {
		return errors.Join(err, file.Drop())
	}
	return nil
}

// shades are the few that a preview has, so that its file is small: greys, and
// mixtures of a tint with black and white.
func shades(t sheet.Tint) color.Palette {
	var all color.Palette
	mix := func(from, to color.RGBA, part, of int) color.RGBA {
		between := func(a, b uint8) uint8 { return uint8((int(a)*(of-part) + int(b)*part) / of) }
		return color.RGBA{between(from.R, to.R), between(from.G, to.G), between(from.B, to.B), 0xff}
	}
	black, white := color.RGBA{A: 0xff}, color.RGBA{0xff, 0xff, 0xff, 0xff}
	tint := color.RGBA{t.R, t.G, t.B, 0xff}
	for i := range 8 {
		all = append(all, mix(black, white, i, 7))
	}
	if tint != black {
		for i := range 4 {
			all = append(all, mix(tint, black, i, 4))
		}
		for i := range 3 {
			all = append(all, mix(tint, white, i+1, 4))
		}
	}
	return all
}
