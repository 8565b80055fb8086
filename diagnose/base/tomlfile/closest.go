package tomlfile

// farthest is the number of slips of the finger up to which a known key is
// offered for an unknown one.
const farthest = 2

// closest is the known word that differs least from name, "" if none is near.
func closest(name string, known []string) string {
	best, least := "", farthest+1
	for _, k := range known {
		if d := distance(name, k); d < least && d < len(k)-1 {
			best, least = k, d
		}
	}
	return best
}

// distance is the number of letters to put in, leave out or change to make b
// from a (Levenshtein).
func distance(a, b string) int {
	if diff := len(a) - len(b); diff > farthest || diff < -farthest {
		return farthest + 1
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
