// Package papers says how the demo papers' profiles are made from the ink model,
// for the command that makes them and for the test that they have not drifted
// from it.
package papers

import (
	"fmt"
	"time"

	"firstsheet/proof/press"
	"firstsheet/proof/press/profile"
)

// Copyright is what the demo papers' profiles carry.
const Copyright = "Public domain. Computed from a model; no real paper, ink or printer."

// The grids of a profile that is only looked through: a sheet printed with another
// stock's setting. Nobody separates by it.
const (
	lookForwardGrid = 25
	lookInverseGrid = 9
)

// created is fixed, so that the same code gives the same bytes.
var created = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// Name returns how the profile of stock under setting is called.
func Name(stock press.Stock, setting press.Setting) string {
	s := fmt.Sprintf("%s %s, %s, %s", press.Mill, stock.Name, press.Printer, setting.Name)
	if setting.ID != stock.Right.ID {
		s += " (wrong setting)"
	}
	return s
}

// File returns the name of the profile's file.
func File(stock press.Stock, setting press.Setting) string {
	if setting.ID == stock.Right.ID {
		return stock.ID + ".icc"
	}
	return stock.ID + "-as-" + setting.ID + ".icc"
}

// Spec returns what the profile of stock under setting is built from. Under a
// setting of other stock the tables are coarser.
func Spec(stock press.Stock, setting press.Setting) profile.Spec {
	p := press.New(stock, setting)
	s := profile.Spec{
		Description: Name(stock, setting),
		Copyright:   Copyright,
		Maker:       press.Mill,
		Model:       press.Printer,
		Created:     created,
		Channels:    3,
		Forward:     p.Forward,
	}
	if setting.ID != stock.Right.ID {
		s.ForwardGrid, s.InverseGrid = lookForwardGrid, lookInverseGrid
	}
	return s
}
