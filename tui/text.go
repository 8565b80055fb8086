package tui

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/quantity"
)

const ellipsis = "..."

// wrap cleans text and breaks it into lines of at most w columns, none where there is
// nothing to show.
func wrap(text string, w int) []string {
	lines := plaintext.Wrap(text, w)
	if len(lines) == 1 && lines[0] == "" {
		return nil
	}
	return lines
}

// wrapAll is wrap for text that has lines of its own.
func wrapAll(text string, w int) []string {
	var lines []string
	for line := range strings.SplitSeq(text, "\n") {
		lines = append(lines, plaintext.WrapIndented(line, w)...)
	}
	return lines
}

// cut cleans text and cuts it to one line of w columns.
func cut(text string, w int) string {
	return ansi.Truncate(plaintext.Clean(text), max(w, 0), ellipsis)
}

// pad fills a line that may be styled with spaces up to w columns.
func pad(line string, w int) string {
	return line + strings.Repeat(" ", max(0, w-ansi.StringWidth(line)))
}

// styled gives every line the style.
func styled(st lipgloss.Style, lines []string) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = st.Render(l)
	}
	return out
}

// labelled is text behind a label, its later lines set under its first.
func labelled(st lipgloss.Style, label string, labelW int, text string, w int) []string {
	return behind(st, label, labelW, wrap(text, w-labelW))
}

// behind sets lines behind a label.
func behind(st lipgloss.Style, label string, labelW int, lines []string) []string {
	for i, l := range lines {
		head := strings.Repeat(" ", labelW)
		if i == 0 {
			label = strings.TrimRight(label, " ")
			head = st.Render(label) + strings.Repeat(" ", max(0, labelW-ansi.StringWidth(label)))
		}
		lines[i] = head + l
	}
	return lines
}

// headed is text behind a head of any length.
func headed(st lipgloss.Style, head, text string, w int) []string {
	return labelled(st, head, ansi.StringWidth(head)+1, text, w)
}

// bullet is one text of a list of such.
func bullet(e env, text string) []string { return labelled(e.st.quiet, "-", len("- "), text, e.w) }

// ends sets left and right at the two ends of a line of w columns; right gives way.
func ends(left, right string, w int) string {
	left, right = cut(left, w), cut(right, w)
	gap := w - ansi.StringWidth(left) - ansi.StringWidth(right)
	if right == "" || gap < 2 {
		return left
	}
	return left + strings.Repeat(" ", gap) + right
}

// atMost is at most n of the lines of w columns; the last one says that there were more.
func atMost(n int, lines []string, w int) []string {
	if len(lines) <= n {
		return lines
	}
	last := ansi.Truncate(lines[n-1], w-len(ellipsis), "") + ellipsis
	return append(lines[:n-1:n-1], last)
}

// flow puts the pieces on as few lines of w columns as they need.
func flow(pieces []string, gap string, w int) []string {
	var lines []string
	for _, p := range pieces {
		if n := len(lines); n > 0 && ansi.StringWidth(lines[n-1])+ansi.StringWidth(gap)+ansi.StringWidth(p) <= w {
			lines[n-1] += gap + p
			continue
		}
		lines = append(lines, ansi.Truncate(p, w, ellipsis))
	}
	return lines
}

// fit clips lines to w columns and h rows and fills up to h rows.
func fit(lines []string, w, h int) []string {
	out := make([]string, h)
	for i := range out {
		if i < len(lines) {
			out[i] = ansi.Truncate(lines[i], w, ellipsis)
		}
	}
	return out
}

// A column is one of several texts standing side by side.
type column struct {
	lines []string
	w     int
}

// beside sets columns of h rows side by side, a bar between them.
func beside(h int, bar string, cols ...column) []string {
	rows := make([]string, h)
	for i, c := range cols {
		for y, line := range fit(c.lines, c.w, h) {
			if i > 0 {
				rows[y] += bar
			}
			if i == len(cols)-1 && line == "" {
				rows[y] = strings.TrimRight(rows[y], " ")
			}
			if i < len(cols)-1 {
				line = pad(line, c.w)
			}
			rows[y] += line
		}
	}
	return rows
}

// A block is some lines that give way together where room is short: the
// highest rank first, rank 0 never.
type block struct {
	rank  int
	lines []string
}

// fold drops blocks until the rest has at most h rows, or is of rank 0; of one
// rank the last block goes first.
func fold(blocks []block, h int) []string {
	rows, rank := 0, 0
	for _, b := range blocks {
		rows += len(b.lines)
		rank = max(rank, b.rank)
	}
	dropped := make([]bool, len(blocks))
	for ; rank > 0; rank-- {
		for i := len(blocks) - 1; i >= 0 && rows > h; i-- {
			if blocks[i].rank == rank {
				dropped[i] = true
				rows -= len(blocks[i].lines)
			}
		}
	}
	var kept []string
	for i, b := range blocks {
		if !dropped[i] {
			kept = append(kept, b.lines...)
		}
	}
	return kept
}

func joined(lines []string) string { return strings.Join(lines, "\n") }

func rule(w int) string { return strings.Repeat("-", max(0, w)) }

// unitSign is a unit of the readings file as people write it.
func unitSign(unit string) string {
	_, sign, _ := strings.Cut(quantity.Format(0, unit), " ")
	return sign
}
