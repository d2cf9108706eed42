package report

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
)

// assumptionsFile is the backlog as a table for a spreadsheet, in test order.
func assumptionsFile(k flows.Kickoff) (File, error) {
	rows := [][]string{{"rank", "id", "statement", "zone", "importance_median", "importance_iqr", "evidence_median",
		"evidence_iqr", "importance_agreement", "evidence_agreement", "kind", "thin", "because", "joined"}}
	for _, id := range k.Order() {
		rows = append(rows, assumptionRow(k, id))
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll(defused(rows)); err != nil {
		return File{}, err
	}
	return File{Name: "assumptions.csv", Title: "The assumptions, for a spreadsheet", Data: b.Bytes()}, nil
}

func assumptionRow(k flows.Kickoff, id string) []string {
	a, _ := k.Assumption(id)
	s, _ := k.Scored(id)
	rank := ""
	if s.Rank > 0 {
		rank = strconv.Itoa(int(s.Rank))
	}
	return []string{rank, id, a.Text, string(s.Zone), cell(s.Importance, s.Importance.Median), cell(s.Importance, s.Importance.IQR),
		cell(s.Evidence, s.Evidence.Median), cell(s.Evidence, s.Evidence.IQR), string(s.Importance.Agreement),
		string(s.Evidence.Agreement), words.KindText(k, id), strconv.FormatBool(s.Thin), a.Because, strings.Join(a.Wordings, " | ")}
}

// cell is a figure of a spread, empty where nobody rated.
func cell(s engine.Spread, f engine.Figure) string {
	if s.N == 0 || !f.Defined() {
		return ""
	}
	return strconv.FormatFloat(float64(f), 'g', -1, 64)
}

// defused puts an apostrophe before every cell that a spreadsheet would run
// as a formula. The apostrophe is added; nothing of the text is lost.
func defused(rows [][]string) [][]string {
	for _, row := range rows[1:] {
		for i, text := range row {
			if text != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", firstRune(text)) {
				row[i] = "'" + text
			}
		}
	}
	return rows
}

func firstRune(s string) rune {
	for _, r := range s {
		return r
	}
	return 0
}
