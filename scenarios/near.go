package scenarios

import "github.com/xrash/smetrics"

// Near returns the word of a list that a misspelt one most likely meant: the
// first with the fewest letters changed, if those are few for its length.
func Near(word string, list []string) (string, bool) {
	best, fewest := "", len(word)/3+1
	if len(word) < 3 {
		fewest = 1
	}
	for _, candidate := range list {
		changes := smetrics.WagnerFischer(word, candidate, 1, 1, 1)
		if changes < len(candidate) && (changes < fewest || best == "" && changes == fewest) {
			best, fewest = candidate, changes
		}
	}
	return best, best != ""
}
