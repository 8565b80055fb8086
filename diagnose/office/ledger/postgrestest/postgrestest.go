// Package postgrestest is an empty PostgreSQL database for a test.
//
// Start with [New].
package postgrestest

import (
	"crypto/rand"
	"database/sql"
	"net/url"
	"os"
	"strings"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// New is the address of an empty database on the server that .ci/postgres started, its
// tables taken away after the test. Where there is no server the test is skipped, or
// fails if it is required.
func New(t *testing.T) string {
	t.Helper()
	address := os.Getenv("AMPWALK_POSTGRES")
	if address == "" {
		if os.Getenv("AMPWALK_CI") != "" {
			require.Fail(t, "AMPWALK_POSTGRES is not set; .ci/postgres sets it")
		}
		t.Skip("no PostgreSQL: run by .ci/postgres")
	}
	db, err := sql.Open("pgx", address)
	require.NoError(t, err)
	name := "test_" + strings.ToLower(rand.Text())
	_, err = db.Exec("CREATE SCHEMA " + name)
	require.NoError(t, err)
	t.Cleanup(func() {
		_, err := db.Exec("DROP SCHEMA " + name + " CASCADE")
		assert.NoError(t, err)
		assert.NoError(t, db.Close())
	})
	u, err := url.Parse(address)
	require.NoError(t, err)
	q := u.Query()
	q.Set("search_path", name)
	u.RawQuery = q.Encode()
	return u.String()
}
