package view

import (
	"fmt"
	"strings"

	"firstsheet/app/widget"
	"firstsheet/proof/chart"
)

// sayInk begins what is asked before a CMYK profile is built.
const sayInk = "Say first how much ink the stock bears."

// askInk offers the usual limits of total ink.
func (m *measureLeaf) askInk(under *widget.Press) {
	var lines []offer
	for _, l := range chart.InkLimits() {
		lines = append(lines, offer{Item: widget.Item{Text: l.Stock, Note: fmt.Sprintf("%.0f %%", l.Percent), Set: l.Stock == m.stock}, act: func() {
			m.stock = l.Stock
			m.ink.SetText(fmt.Sprintf("%.0f", l.Percent))
			m.tellInk()
		}})
	}
	openMenu(m.h, under, lines)
}

// tellInk says what is doubtful about the limit that is written.
func (m *measureLeaf) tellInk() {
	ms := m.files.ms
	if ms == nil || ms.Device != chart.CMYK {
		return
	}
	if strings.HasPrefix(m.state.Text, sayInk) {
		m.state.SetText("")
	}
	told := []string{chart.InkPractice}
	if limit, sound := chart.InkOf(m.ink.Text); sound && limit > 0 {
		if doubts := chart.InkTold(limit, chart.MostInk(ms), m.stock); len(doubts) > 0 {
			told = doubts
		}
	}
	m.inkTold.SetText(strings.Join(told, " "))
	m.left.Again()
}
