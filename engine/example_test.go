package engine_test

import (
	"fmt"
	"strings"

	"soundings/engine"
)

// Ratings that were collected in a spreadsheet, from the file to the test
// order.
func ExampleScore() {
	table, err := engine.ParseTable("ratings.csv", strings.NewReader(`rater,assumption,importance,evidence,statement
ana,A1,8,2,Passengers with bicycles turn back when they see a full deck
ana,A2,7,7,The crew can count free bicycle places before casting off
ana,A3,3,4,Families with trailers decide at home
bo,A1,9,3,
bo,A2,7,8,
bo,A3,9,4,
cleo,A1,7,2,
cleo,A2,6,7,
cleo,A3,2,,
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	result := engine.Score(table, engine.Options{Seed: 1})
	for _, a := range result.Assumptions {
		fmt.Printf("%d. %s %s: importance %v (%s), evidence %v\n",
			a.Rank, a.ID, a.Zone, a.Importance.Median, a.Importance.Agreement, a.Evidence.Median)
	}
	// Output:
	// 1. A1 test-first: importance 8 (close), evidence 2
	// 2. A2 next: importance 7 (close), evidence 7
	// 3. A3 watch: importance 3 (mixed), evidence 4
}

// A mistake is named with its line, and with what is allowed.
func ExampleParseTable() {
	_, err := engine.ParseTable("ratings.csv", strings.NewReader("rater,assumption,importance,evidence\nana,A1,10,2\n"))
	fmt.Println(err)
	// Output:
	// ratings.csv:2: importance is "10"; a rating is a whole number from 1 to 9, or empty for "can't say"
}

// The lower quartile of six ratings, counted and not sorted.
func ExampleCounts() {
	counts := engine.CountRatings([]engine.Rating{9, 4, 2, 7, 5, 4})
	fmt.Println(counts.N(), counts.Quantile(1, 2), counts.Quantile(1, 4))
	// Output: 6 4.5 4
}
