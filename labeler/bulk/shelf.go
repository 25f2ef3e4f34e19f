package bulk

import (
	"fmt"

	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// A shelf is the stocks that a run knows: the embedded ones, and the one that
// was given, which goes before one of its name.
type shelf struct {
	given printtemplates.Stock
	known map[string]printtemplates.Stock
}

// shelfOf checks the given stock.
func shelfOf(given printtemplates.Stock) (*shelf, error) {
	if given.Kind != printtemplates.Tag {
		return nil, fmt.Errorf("bulk: %s: %w: it is a %s", given.Name, sheet.ErrKind, given.Kind)
	}
	return &shelf{given, map[string]printtemplates.Stock{given.Name: given}}, nil
}

// reopen is the shelf of a plan.
func reopen(p Plan) (*shelf, error) {
	given, err := printtemplates.Open(p.Template)
	if p.Own != "" {
		given, err = printtemplates.Parse(p.Template, []byte(p.Own))
	}
	if err != nil {
		return nil, fmt.Errorf("bulk: open the stock of the plan: %w", err)
	}
	return shelfOf(given)
}

// open gives the stock of that name.
func (s *shelf) open(name string) (printtemplates.Stock, error) {
	if stock, ok := s.known[name]; ok {
		return stock, nil
	}
	stock, err := printtemplates.Open(name)
	if err != nil {
		return printtemplates.Stock{}, fmt.Errorf("bulk: %w", err)
	}
	if stock.Kind != printtemplates.Tag {
		return printtemplates.Stock{}, fmt.Errorf("bulk: %s: %w: it is a %s", name, sheet.ErrKind, stock.Kind)
	}
	s.known[name] = stock
	return stock, nil
}

// has tells whether tags can be printed on the stock of that name.
func (s *shelf) has(name string) bool {
	_, err := s.open(name)
	return err == nil
}
