package sheet_test

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"cribgate/core/bounded"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// refusals are all that Layout may say of a stock that reads.
var refusals = []error{
	sheet.ErrFit, sheet.ErrGlyph, sheet.ErrModule, sheet.ErrOverlap, sheet.ErrEdge, sheet.ErrYear, sheet.ErrContrast, sheet.ErrKind, sheet.ErrMissing, sheet.ErrPaper,
}

// Whatever is read as a stock's file is laid out, or refused for one of the
// reasons that there are; what is laid out lies on its blank.
func FuzzStock(f *testing.F) {
	files, err := filepath.Glob("../../printtemplates/*.json")
	if err != nil {
		f.Fatal(err)
	}
	laid := 0
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		stock, err := printtemplates.Parse("seed", text)
		if err != nil {
			f.Fatalf("%s: %v", path, err)
		}
		if _, err := sheet.Layout(stock, usualOf(f, stock.Kind)); err == nil {
			laid++
		}
		f.Add(text)
	}
	if len(files) != 9 || laid != 9 {
		f.Fatalf("%d seeds, %d laid out, want 9", len(files), laid)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		bounded.Run(t, time.Now, 64<<20, func() {
			stock, err := printtemplates.Parse("fuzz", text)
			if err != nil {
				if !reflect.DeepEqual(stock, printtemplates.Stock{}) {
					t.Errorf("an error with a stock: %+v", stock)
				}
				return
			}
			lay(t, stock)
		})
	})
}

func lay(t *testing.T, stock printtemplates.Stock) {
	d, err := sheet.Layout(stock, usualOf(t, stock.Kind))
	if err != nil {
		known := false
		for _, r := range refusals {
			known = known || errors.Is(err, r)
		}
		if !known || !reflect.DeepEqual(d, sheet.Drawing{}) {
			t.Errorf("refused for %v, with %+v", err, d)
		}
		return
	}
	if d.Width != stock.Width || d.Height != stock.Height {
		t.Errorf("drawn on %v × %v, the blank is %v × %v", d.Width, d.Height, stock.Width, stock.Height)
	}
}
