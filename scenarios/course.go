package scenarios

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
)

//go:embed course.toml
var courseFile []byte

// courseTexts is course.toml.
type courseTexts struct {
	Lesson []Lesson
	Say    struct {
		Lesson, Done, Guided, Own, Next, Sheet, Finished, Scores, Class, Trainee, Ended, Wrong, Nobody string

		NoScores  string `toml:"no_scores"`
		FirstLast string `toml:"first_last"`
		ClassMean string `toml:"class_mean"`
		MostWrong string `toml:"most_wrong"`
		NoneWrong string `toml:"none_wrong"`
	}
}

var courseWords = sync.OnceValue(func() courseTexts {
	return datafile.Read[courseTexts]("scenarios/course.toml", courseFile)
})

// A Lesson is a part of the course: an explanation, cases with the visit as a guide, cases
// on one's own, and a sheet for a class.
type Lesson struct {
	ID, Title  string
	Text       []string
	Guided     []string // ids of scenarios
	Own        []string
	SheetLevel int    `toml:"sheet_level"`
	SheetSeed  uint64 `toml:"sheet_seed"`
}

// Lessons are the course, in its order.
func Lessons() []Lesson { return slices.Clone(courseWords().Lesson) }

// A CourseCase is a case of the course.
type CourseCase struct {
	Lesson   int // its place in [Lessons]
	Scenario string
	Guided   bool
}

// CourseCases are all cases of the course, in their order.
func CourseCases() (list []CourseCase) {
	for i, l := range courseWords().Lesson {
		for _, id := range l.Guided {
			list = append(list, CourseCase{i, id, true})
		}
		for _, id := range l.Own {
			list = append(list, CourseCase{i, id, false})
		}
	}
	return list
}

// is reports whether a result is of the case.
func (c CourseCase) is(r practicelog.Result) bool {
	return r.Scenario == c.Scenario && (r.Mode == practicelog.WithGuide) == c.Guided
}

// A Standing is where a trainee stands in the course.
type Standing struct {
	Who    string
	Done   int         // cases that were played to their end
	Next   *CourseCase // nil: all are done
	Points []float64   // of the cases on one's own, in the order played; the same score throughout
}

// StandingOf is where who stands, by the results so far, oldest first. A case counts when it
// was first played to its end.
func StandingOf(list []practicelog.Result, who string) Standing {
	s := Standing{Who: who}
	done := map[CourseCase]bool{}
	for _, r := range list {
		if r.Who != who {
			continue
		}
		for _, c := range CourseCases() {
			if !c.is(r) || done[c] {
				continue
			}
			if done[c] = true; !c.Guided {
				s.Points = append(s.Points, r.Score.Total)
			}
		}
	}
	s.Done = len(done)
	for _, c := range CourseCases() {
		if !done[c] {
			s.Next = &c
			break
		}
	}
	return s
}

// Lines say where the trainee stands and what to do next.
func (s Standing) Lines() []string {
	t := courseWords()
	total := len(CourseCases())
	lines := []string{fmt.Sprintf(t.Say.Done, s.Done, total)}
	if s.Next == nil {
		lines = append(lines, t.Say.Finished)
	} else {
		lines = append(lines, s.Next.line())
	}
	return append(lines, s.points())
}

// line names the lesson and the case.
func (c CourseCase) line() string {
	t := courseWords()
	how := t.Say.Own
	if c.Guided {
		how = t.Say.Guided
	}
	title := c.Scenario
	if sc, ok := ByID(c.Scenario); ok {
		title = sc.Title
	}
	l := t.Lesson[c.Lesson]
	return fmt.Sprintf(t.Say.Next, fmt.Sprintf(t.Say.Lesson, c.Lesson+1, len(t.Lesson), l.Title), title, how)
}

// points are the first and the last score, and all between.
func (s Standing) points() string {
	t := courseWords().Say
	if len(s.Points) == 0 {
		return t.NoScores
	}
	var all []string
	for _, x := range s.Points {
		all = append(all, fmt.Sprintf("%.0f", x))
	}
	return fmt.Sprintf(t.Scores, s.Points[0], s.Points[len(s.Points)-1], strings.Join(all, " "))
}

// Explain is the explanation of the lesson of a case, with its sheet.
func (c CourseCase) Explain() (title string, lines []string) {
	t := courseWords()
	l := t.Lesson[c.Lesson]
	for _, text := range l.Text {
		lines = append(lines, text, "")
	}
	lines = append(lines, fmt.Sprintf(t.Say.Sheet, l.SheetLevel, l.SheetSeed), c.line())
	return fmt.Sprintf(t.Say.Lesson, c.Lesson+1, len(t.Lesson), l.Title), lines
}

// pointsAMark are what one mark of a drawn score stands for.
const pointsAMark = 5

// Drawn draws scores one below the other, the first on top.
func Drawn(points []float64) (lines []string) {
	for i, x := range points {
		lines = append(lines, fmt.Sprintf("%4d %4.0f %s", i+1, x, strings.Repeat("#", int(max(x, 0)/pointsAMark+0.5))))
	}
	return lines
}

// ClassPoints are the mean scores of the first case on one's own of all trainees, of the
// second, and so on; each over those who have played so many.
func ClassPoints(list []practicelog.Result) (means []float64) {
	var counts []float64
	var names []string
	for _, r := range list {
		if slices.Contains(names, r.Who) {
			continue
		}
		names = append(names, r.Who)
		for i, x := range StandingOf(list, r.Who).Points {
			if i == len(means) {
				means, counts = append(means, 0), append(counts, 0)
			}
			means[i], counts[i] = means[i]+x, counts[i]+1
		}
	}
	for i := range means {
		means[i] /= counts[i]
	}
	return means
}

// mostWrongShown are the conditions that the view of a class names.
const mostWrongShown = 3

// ClassLines are the supervisor's view: where each trainee stands, how the first case and
// the last compare, and what was most often wrong.
func ClassLines(list []practicelog.Result) []string {
	t := courseWords().Say
	var names []string
	for _, r := range list {
		if slices.ContainsFunc(CourseCases(), func(c CourseCase) bool { return c.is(r) }) && !slices.Contains(names, r.Who) {
			names = append(names, r.Who)
		}
	}
	if names == nil {
		return []string{t.Nobody}
	}
	lines := []string{t.Class}
	var first, last, n float64
	for _, who := range names {
		s := StandingOf(list, who)
		points := t.NoScores
		if k := len(s.Points); k > 0 {
			points = fmt.Sprintf(t.FirstLast, s.Points[0], s.Points[k-1])
			first, last, n = first+s.Points[0], last+s.Points[k-1], n+1
		}
		who = plaintext.Clean(who)
		if s.Next == nil {
			lines = append(lines, "  "+fmt.Sprintf(t.Ended, who, s.Done, points))
			continue
		}
		lines = append(lines, "  "+fmt.Sprintf(t.Trainee, who, s.Next.Lesson+1, courseWords().Lesson[s.Next.Lesson].Title, s.Done, len(CourseCases()), points))
	}
	if n > 0 {
		lines = append(lines, fmt.Sprintf(t.ClassMean, first/n, last/n))
	}
	return append(lines, mostWrong(list))
}

// mostWrong are what was named wrongly most often in the cases on one's own.
func mostWrong(list []practicelog.Result) string {
	t := courseWords().Say
	tried, wrong := map[condition.ID]int{}, map[condition.ID]int{}
	for _, r := range list {
		if r.Mode != practicelog.OnOnesOwn {
			continue
		}
		for _, id := range r.Truth {
			if tried[id]++; !r.Right {
				wrong[id]++
			}
		}
	}
	var ids []condition.ID
	for _, c := range condition.All() { // in the catalogue's order where they are alike
		if wrong[c.ID] > 0 {
			ids = append(ids, c.ID)
		}
	}
	slices.SortStableFunc(ids, func(a, b condition.ID) int { return wrong[b] - wrong[a] })
	if len(ids) == 0 {
		return t.NoneWrong
	}
	var texts []string
	for _, id := range ids[:min(len(ids), mostWrongShown)] {
		texts = append(texts, fmt.Sprintf(t.Wrong, condition.Of(id).Title, wrong[id], tried[id]))
	}
	return fmt.Sprintf(t.MostWrong, strings.Join(texts, "; "))
}
