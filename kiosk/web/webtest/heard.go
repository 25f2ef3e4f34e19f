package webtest

import (
	"context"
	"encoding/json"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/chromedp"
)

// Heard is one thing that a reader that speaks finds on a page.
type Heard struct {
	Role, Name, Description string
	Focused                 bool
}

// Hears lists what the browser tells readers that speak, in the page's order: what
// has a role and a name, and the landmarks.
func (p *Page) Hears() []Heard {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	tree, err := chromedp.Call(ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	if err != nil {
		p.t.Fatalf("browser: what is heard: %v", err)
	}
	nodes := map[accessibility.NodeID]*accessibility.Node{}
	for _, n := range tree.Nodes {
		nodes[n.NodeID] = n
	}
	var list []Heard
	var walk func(n *accessibility.Node)
	walk = func(n *accessibility.Node) {
		if n == nil {
			return
		}
		h := Heard{Role: said(n.Role), Name: said(n.Name), Description: said(n.Description)}
		for _, property := range n.Properties {
			h.Focused = h.Focused || property.Name == accessibility.PropertyNameFocused && string(property.Value.Value) == "true"
		}
		landmark := h.Role == "main" || h.Role == "banner" || h.Role == "contentinfo" || h.Role == "navigation" || h.Role == "status"
		if !n.Ignored && (h.Name != "" || landmark) {
			list = append(list, h)
		}
		for _, child := range n.ChildIDs {
			walk(nodes[child])
		}
	}
	if len(tree.Nodes) > 0 {
		walk(tree.Nodes[0])
	}
	return list
}

func said(v *accessibility.Value) string {
	if v == nil {
		return ""
	}
	var text string
	if err := json.Unmarshal(v.Value, &text); err != nil {
		return "" // a number or a list, which nobody asks for here
	}
	return text
}

// Unstyled shows the page as its text alone.
func (p *Page) Unstyled() {
	p.t.Helper()
	Eval[bool](p, `(document.querySelectorAll("link[rel=stylesheet], style").forEach((e) => e.remove()), true)`)
}
