package gnsslog

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestSmoke(t *testing.T) {
	log, err := Read("a.csv", strings.NewReader("\ufeffTime;Lat;Lon;Speed(mph);Status\r\n2026-05-04T14:03:11.2Z;46,5;-117,25;5,0;on\r\n\r\n04.05.2026 14:03:12;46,6;-117,25;;\"o\nn\"\r\nx;y;z\r\n"), Options{Keep: func(s string) bool { return s == "status" }})
	require.NoError(t, err)
	t.Logf("%+v", log)
}
