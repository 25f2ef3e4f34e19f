package counter

import (
	"context"
	"errors"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
)

// MaxFigures is how many figures of new parts are given at once at the most (site
// policy of this program, no source): four legs have five each, and parts of each
// kind besides.
const MaxFigures = 64

// ErrFigures reports figures of new parts that cannot be.
var ErrFigures = errors.New("counter: these are no figures of new parts of this sling")

// SetFigures records what parts of a sling measured when new, each with its basis and
// its source in words. A reference is measured by the inspector, who is the qualified
// person here; the maker's dimension and an older record may be entered by the keeper
// as well.
func (c *Counter) SetFigures(ctx context.Context, who Who, seen Seen, figures []event.Figure) (Outcome, error) {
	body := event.FiguresSet{}
	roles := event.Inspector | event.Keeper
	known := map[event.FigureOf]bool{}
	for _, f := range figures {
		f.Source = strings.TrimSpace(f.Source)
		if !f.Valid() || f.Source == "" || known[f.Of] {
			return Outcome{}, ErrFigures
		}
		if f.Basis == event.FromReference {
			roles = event.Inspector
		}
		known[f.Of] = true
		body.Figures = append(body.Figures, f)
	}
	if len(figures) == 0 || len(figures) > MaxFigures {
		return Outcome{}, ErrFigures
	}
	request, err := event.Encode(body)
	if err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "set figures", seen, roles, inUse(), func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		for _, f := range body.Figures {
			if f.Of.Leg > s.Details.Sling.Legs {
				return nil, nil, ErrFigures
			}
		}
		return body, nil, nil
	}, string(request))
}
