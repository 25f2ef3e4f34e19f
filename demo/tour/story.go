package tour

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/demo/crib"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/scan"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
	"cribgate/store"
)

// The sling that comes this morning.
const (
	newcomer = "QB-9001"
	blank    = "plate-50x80"
	dpi      = 300
)

// plate is what is stamped on the newcomer.
func plate(load quantity.Mass) (rating.Plate, error) {
	size, err := rating.ParseSize(rating.US, "3/8")
	return rating.Plate{
		System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2, Reach: 2400 * quantity.Millimetre,
		Stamped: []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: load}},
	}, err
}

// lift is a load of so many pounds on both legs at 60° from horizontal.
func (d *day) lift(pounds int64) gate.Lift {
	return gate.Lift{
		Use: gate.UseOrdinary, Load: quantity.Mass(pounds) * quantity.Pound, Hitch: gate.Straight, Legs: 2, Centred: true,
		Angle: &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree}, ReturnBy: d.today.AddDays(1), // also where midnight comes in between
	}
}

// arrival: a sling is registered, tagged and confirmed.
func (d *day) arrival() {
	d.do("The kiosk is opened. Nothing was recorded since yesterday.", func() (string, error) {
		signed, err := crib.Morning(d.ctx, d.kiosk.Store, d.kiosk.Counter)
		if err != nil {
			return "", err
		}
		if signed {
			return fmt.Sprintf("The clock is more than a day ahead of the register: %s, keeper, and %s, inspector, sign for the date.", d.keeper.Name, d.inspector.Name), nil
		}
		return "The clock is less than a day ahead of the register: nobody has to sign for the date.", nil
	})
	d.do("A new two-leg sling, 3/8 in, grade 80, has come. Its plate is read as 13,200 lb at 60° from horizontal.", func() (string, error) {
		p, err := plate(13_200 * quantity.Pound)
		if err != nil {
			return "", err
		}
		return checked(p, rating.TooHigh)
	})
	d.do("The plate is read again: 12,300 lb.", func() (string, error) {
		p, err := plate(12_300 * quantity.Pound)
		if err != nil {
			return "", err
		}
		return checked(p, rating.Agrees)
	})
	d.do(fmt.Sprintf("%s, keeper, registers it as %s.", d.keeper.Name, newcomer), d.register)
	file := filepath.Join(d.dir, newcomer+".png")
	d.do(fmt.Sprintf("%s, inspector, prints its tag at %d dots an inch.", d.inspector.Name, dpi), func() (string, error) { return d.printTag(file) })
	var text string
	d.do("The picture of the tag is read back.", func() (came string, err error) {
		if text, err = readBack(file); err != nil {
			return "", err
		}
		sling, tag, err := d.kiosk.Store.SlingByTag(d.ctx, tagcode.Digest(text))
		if err != nil {
			return "", fmt.Errorf("the register does not know what was read: %w", err)
		}
		if sling.Details.Ident != newcomer || tag.Serial != 1 {
			return "", fmt.Errorf("it reads as tag %d of %s", tag.Serial, sling.Details.Ident)
		}
		return fmt.Sprintf("%d characters, as they were sealed: tag %d of %s.", len(text), tag.Serial, newcomer), nil
	})
	d.samples[newcomer] = crib.Sample{Name: newcomer, Ident: newcomer, Text: text}
	d.do("Before it hangs on the sling, somebody asks for it.", func() (string, error) {
		o, err := d.asks(text, newcomer, d.rigger, d.lift(8000))
		if err != nil {
			return "", err
		}
		return stayed(o, gate.TagUnconfirmed)
	})
	confirm := func(typed string) (counter.Outcome, error) {
		id, err := d.sling(newcomer)
		if err != nil {
			return counter.Outcome{}, err
		}
		return d.kiosk.Counter.Confirm(d.ctx, d.by(d.inspector, counter.Scanner), counter.Reading{Text: text, Way: counter.Scanner, Typed: typed}, id.ID)
	}
	d.do("The tag is scanned on the sling; the characters typed are those of the plate beside it.", func() (string, error) {
		o, err := confirm("002")
		if err != nil {
			return "", err
		}
		return stayed(o, gate.PlateMismatch)
	})
	d.do("The right plate is read: 001.", func() (string, error) {
		o, err := confirm(ending(newcomer))
		if err != nil {
			return "", err
		}
		return "The tag is live; every older one of this sling would be dead from now on.", went(o)
	})
}

// checked holds a plate against the tables, as the register page does.
func checked(p rating.Plate, want rating.Fit) (string, error) {
	found, err := rating.CheckStamps(p)
	if err != nil {
		return "", err
	}
	if len(found.Stamps) != 1 || found.Stamps[0].Fit != want {
		return "", fmt.Errorf("the stamp fits the table as %v, not as %v", found.Stamps, want)
	}
	return found.Stamps[0].Words(quantity.Imperial), nil
}

func (d *day) register() (string, error) {
	p, err := plate(12_300 * quantity.Pound)
	if err != nil {
		return "", err
	}
	o, err := d.kiosk.Counter.Register(d.ctx, d.by(d.keeper, counter.Hand), event.Details{
		Ident: newcomer, Maker: "ODD ANVIL", Place: "D-40", Outcome: tagcode.Fit, Service: due.Normal,
		Sling: gate.Sling{Plate: p, RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: d.today.AddDays(-2)},
	})
	if err != nil {
		return "", err
	}
	if err := went(o); err != nil {
		return "", err
	}
	s, err := d.sling(newcomer)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("Inspected %s, due again by %s.", s.Details.Sling.Inspected, s.Details.Sling.Due), nil
}

// sling is one as it is now.
func (d *day) sling(ident string) (state.Sling, error) {
	return d.kiosk.Store.SlingByIdent(d.ctx, ident)
}

// seen is a sling as somebody looks at it now.
func (d *day) seen(ident string) (counter.Seen, error) {
	s, err := d.sling(ident)
	return counter.Seen{Sling: s.ID, Heads: s.Heads}, err
}

// printTag prints the newcomer's next tag: it is drawn, then recorded, then the
// file gets its name.
func (d *day) printTag(file string) (string, error) {
	stock, err := printtemplates.Open(blank)
	if err != nil {
		return "", err
	}
	tags, err := print.FromRegister(d.ctx, d.kiosk.Store.Reader, d.keys, []string{newcomer})
	if err != nil {
		return "", err
	}
	seen, err := d.seen(newcomer)
	if err != nil {
		return "", err
	}
	result, err := print.Job{Stock: stock, Out: file, DPI: dpi}.Write(d.ctx, tags, func(drawn []print.Drawn) error {
		o, err := d.kiosk.Counter.Print(d.ctx, d.by(d.inspector, counter.Program), seen, stock.Name,
			func(context.Context, *store.Tx, state.Sling) (event.TagPrinted, error) {
				return drawn[0].Printed, nil
			})
		return errors.Join(err, went(o))
	})
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%s\nA module is %d dots, %s.", file, result.Raster.Dots, result.Raster.Module), nil
}

// readBack reads a picture as the kiosk does.
func readBack(file string) (string, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return "", err
	}
	return scan.Image(data)
}

// evening: the kiosk is started again, and the register is verified.
func (d *day) evening() {
	var before store.Head
	d.do("The kiosk is stopped and started again.", func() (string, error) {
		var err error
		if before, err = d.kiosk.Store.Head(d.ctx); err != nil {
			return "", err
		}
		ended := d.kiosk
		d.kiosk = nil
		if err := ended.Close(); err != nil {
			return "", err
		}
		if err := d.open(); err != nil {
			return "", err
		}
		after, err := d.kiosk.Store.Head(d.ctx)
		if err == nil && after != before {
			err = fmt.Errorf("the register ended at %d and begins at %d", before.At, after.At)
		}
		return fmt.Sprintf("The register goes on after event %d.", after.At), err
	})
	d.do("The whole register is verified: chain, bodies, and the present told again.", func() (string, error) {
		report, err := d.kiosk.Store.Verify(d.ctx, nil)
		if err != nil {
			return "", err
		}
		if !report.Whole() {
			return "", fmt.Errorf("it is broken: %v", report.Breaks)
		}
		return fmt.Sprintf("Whole: %d events, %d of them today. Head %s.", report.Events, report.Head.At-d.head.At, report.Head.Hash), nil
	})
}
