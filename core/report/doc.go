// Package report puts a thorough inspection into the words of a report, so that a
// page and a sheet of paper say the same.
//
// Of takes what the register knew when the inspection was signed and gives a Report:
// sections of items, each with the clause that asks for it, and every measurement with
// what it was held against. Nothing is worked out here: verdict and limits are those of
// package removal, dates those of the record. An item of which nothing was recorded says
// so, and none is left out.
//
// The items are those of the report of thorough examination of LOLER 1998 schedule 1
// (numbers 1 to 8 seen, the rest from memory), with the condition that B30.9 9-1.9 wants
// in writing and the reach that DOE-STD-1090 11.3.3.2 wants measured each time.
//
// A report supports, and never replaces, the competent person, the maker's instructions
// and the local law: Caution says so on every one.
package report
