package web

import (
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// mostCranes is how many cranes a crib may name (site policy, no source): more would
// not be found with a glove.
const mostCranes = 40

// spareCranes is how many empty rows there are for more.
const spareCranes = 3

// A CraneRow asks for one crane.
type CraneRow struct{ Name, Hook Field }

// craneField and hookField name the fields of a row, from 0.
func craneField(i int) string { return "crane-" + itoa(i+1) }
func hookField(i int) string  { return "hook-" + itoa(i+1) }

// craneRows asks for the cranes, with empty rows for more.
func craneRows(f detailsForm, c complaints) []CraneRow {
	filled := 0
	for i := range mostCranes {
		if strings.TrimSpace(f(craneField(i))+f(hookField(i))) != "" {
			filled = i + 1
		}
	}
	rows := make([]CraneRow, min(filled+spareCranes, mostCranes))
	for i := range rows {
		name, hook := craneField(i), hookField(i)
		rows[i] = CraneRow{
			Name: Field{Name: name, Label: "Crane " + itoa(i+1), Value: f(name), Error: c[name], Most: maxName},
			Hook: Field{Name: hook, Label: "Its hook is thick", Value: f(hook), Error: c[hook], Most: 12},
		}
	}
	return rows
}

// filledCranes fills the form with the cranes of a policy.
func filledCranes(values map[string]string, cranes []event.Crane) {
	for i, c := range cranes {
		values[craneField(i)], values[hookField(i)] = c.Name, widthText(c.Hook, true)
	}
}

// readCranes reads the rows that are filled in, in their order.
func readCranes(f detailsForm, c complaints, lead quantity.Units) (list []event.Crane) {
	taken := map[string]bool{}
	for i := range mostCranes {
		name, hook := strings.Join(strings.Fields(f(craneField(i))), " "), f(hookField(i))
		if name == "" && strings.TrimSpace(hook) == "" {
			continue
		}
		if _, err := event.CheckName(name); err != nil {
			c.add(craneField(i), "Type what everyone here calls it, up to "+itoa(maxName)+" characters.")
		} else if taken[strings.ToLower(name)] {
			c.add(craneField(i), "Two cranes have this name.")
		}
		taken[strings.ToLower(name)] = true
		width, complaint := readWidth(hook, lead, true)
		c.add(hookField(i), complaint)
		list = append(list, event.Crane{Name: name, Hook: width})
	}
	return list
}

// wordLists are the answers to which words a crib uses.
var wordLists = map[string]event.WordList{"rules": 0, "us": event.WordsUS, "uk": event.WordsUK}

func wordsAnswer(w event.WordList) string {
	for answer, list := range wordLists {
		if list == w {
			return answer
		}
	}
	return ""
}
