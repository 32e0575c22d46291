module partwright

go 1.26.8

// What the program and its tests import, and what for.
require (
	github.com/andybalholm/brotli v1.3.0 // the engraver of the page, which is kept compressed
	github.com/beevik/etree v1.8.1 // elements that are put into documents, and documents built from nothing
	github.com/chromedp/cdproto v0.160.1 // tests: what a browser is told
	github.com/chromedp/chromedp v0.23.1 // tests: the page in a browser
	github.com/getkin/kin-openapi v0.153.0 // requests and, in tests, answers held to the contract
	github.com/gin-gonic/gin v1.12.0 // routes and middleware
	github.com/goccy/go-yaml v1.19.2 // rule sets, rubrics and labels in YAML; its errors name the line
	github.com/golang-jwt/jwt/v5 v5.3.1 // signed tokens between learning systems and this service
	github.com/google/go-cmp v0.7.0 // tests: differences between values
	github.com/jackc/pgx/v5 v5.13.0 // PostgreSQL
	github.com/jedib0t/go-pretty/v6 v6.9.1 // tables on the terminal
	github.com/johannesboyne/gofakes3 v1.2.0 // tests: object storage in memory
	github.com/klauspost/compress v1.20.4 // zstd for what the store keeps, a faster deflate for .mxl, gzip over HTTP
	github.com/minio/minio-go/v7 v7.4.1 // object storage that speaks S3
	github.com/oapi-codegen/runtime v1.9.0 // what the generated routes call
	github.com/parquet-go/parquet-go v0.32.0 // tables for SQL engines
	github.com/pressly/goose/v3 v3.30.1 // migrations of the store
	github.com/prometheus/client_golang v1.25.0 // metrics
	github.com/prometheus/client_model v0.6.3 // tests: metrics read back
	github.com/prometheus/common v0.74.0 // tests: metrics read back from text
	github.com/riverqueue/river v0.51.2 // durable jobs
	github.com/riverqueue/river/riverdriver v0.51.2 // durable jobs: what its databases share
	github.com/riverqueue/river/riverdriver/riverpgxv5 v0.51.2 // durable jobs in PostgreSQL
	github.com/riverqueue/river/riverdriver/riversqlite v0.51.2 // durable jobs in SQLite
	github.com/riverqueue/river/rivertype v0.51.2 // durable jobs: their types
	github.com/rogpeppe/go-internal v1.16.0 // tests: scripts of the whole program
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.3 // tests: the contract held to its schema
	github.com/schollz/progressbar/v3 v3.19.1 // progress on the terminal
	github.com/spf13/cobra v1.10.2 // commands
	github.com/spf13/pflag v1.1.0 // flags
	github.com/standard-webhooks/standard-webhooks/libraries v0.0.1 // signatures of webhooks
	gitlab.com/gomidi/midi v1.11.1 // MIDI files
	go.opentelemetry.io/otel v1.47.0 // traces
	go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracehttp v1.47.0 // traces: sent by OTLP over HTTP
	go.opentelemetry.io/otel/sdk v1.47.0 // traces: collected
	go.opentelemetry.io/otel/trace v1.47.0 // traces: spans
	go.opentelemetry.io/proto/otlp v1.11.1 // tests: traces read back
	golang.org/x/net v0.62.0 // tests: a name server of our own
	golang.org/x/sys v0.50.0 // free space on a disk
	golang.org/x/term v0.48.0 // the terminal's width, and whether there is one
	golang.org/x/text v0.44.0 // encodings of documents, languages that clients ask for
	golang.org/x/time v0.16.0 // rate limits of keys
	google.golang.org/protobuf v1.36.12 // tests: traces read back
	modernc.org/sqlite v1.62.0 // SQLite without C
)

// What those bring along. quic-go and the MongoDB driver come with gin alone, for
// HTTP/3 and BSON, which nobody here calls: gin has no build tag to leave them out.
require (
	github.com/apapsch/go-jsonmerge/v2 v2.0.0 // indirect
	github.com/beorn7/perks v1.0.1 // indirect
	github.com/bytedance/gopkg v0.1.3 // indirect
	github.com/bytedance/sonic v1.15.0 // indirect
	github.com/bytedance/sonic/loader v0.5.0 // indirect
	github.com/cenkalti/backoff/v5 v5.0.3 // indirect
	github.com/cespare/xxhash/v2 v2.3.0 // indirect
	github.com/clipperhouse/uax29/v2 v2.7.0 // indirect
	github.com/cloudwego/base64x v0.1.6 // indirect
	github.com/cpuguy83/go-md2man/v2 v2.0.6 // indirect
	github.com/davecgh/go-spew v1.1.2-0.20180830191138-d8f796af33cc // indirect
	github.com/dlclark/regexp2 v1.11.4 // indirect
	github.com/dustin/go-humanize v1.1.0 // indirect
	github.com/gabriel-vasile/mimetype v1.4.16 // indirect
	github.com/gin-contrib/sse v1.1.0 // indirect
	github.com/go-json-experiment/json v0.0.0-20260213210345-44df1a37e875 // indirect
	github.com/go-logr/logr v1.4.4 // indirect
	github.com/go-logr/stdr v1.2.2 // indirect
	github.com/go-openapi/jsonpointer v1.0.1 // indirect
	github.com/go-playground/locales v0.14.2 // indirect
	github.com/go-playground/universal-translator v0.18.2 // indirect
	github.com/go-playground/validator/v10 v10.30.6 // indirect
	github.com/goccy/go-json v0.10.5 // indirect
	github.com/google/uuid v1.6.0 // indirect
	github.com/grpc-ecosystem/grpc-gateway/v2 v2.31.0 // indirect
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	github.com/jackc/pgpassfile v1.0.0 // indirect
	github.com/jackc/pgservicefile v0.0.0-20240606120523-5a60cdf6a761 // indirect
	github.com/jackc/puddle/v2 v2.2.3 // indirect
	github.com/json-iterator/go v1.1.12 // indirect
	github.com/klauspost/cpuid/v2 v2.4.0 // indirect
	github.com/klauspost/crc32 v1.3.0 // indirect
	github.com/kylelemons/godebug v1.1.0 // indirect
	github.com/leodido/go-urn v1.5.0 // indirect
	github.com/mattn/go-isatty v0.0.24 // indirect
	github.com/mattn/go-runewidth v0.0.24 // indirect
	github.com/mfridman/interpolate v0.2.0 // indirect
	github.com/minio/crc64nvme v1.1.1 // indirect
	github.com/minio/md5-simd v1.1.2 // indirect
	github.com/mitchellh/colorstring v0.0.0-20190213212951-d06e56a500db // indirect
	github.com/modern-go/concurrent v0.0.0-20180306012644-bacd9c7ef1dd // indirect
	github.com/modern-go/reflect2 v1.0.2 // indirect
	github.com/munnerz/goautoneg v0.0.0-20191010083416-a7dc8b61c822 // indirect
	github.com/ncruces/go-strftime v1.1.0 // indirect
	github.com/pandatix/go-abnf v0.5.5 // indirect
	github.com/parquet-go/bitpack v1.0.0 // indirect
	github.com/parquet-go/jsonlite v1.0.0 // indirect
	github.com/pelletier/go-toml/v2 v2.4.3 // indirect
	github.com/philhofer/fwd v1.2.0 // indirect
	github.com/pierrec/lz4/v4 v4.1.33 // indirect
	github.com/prometheus/procfs v0.23.0 // indirect
	github.com/quic-go/qpack v0.6.0 // indirect
	github.com/quic-go/quic-go v0.65.0 // indirect
	github.com/remyoudompheng/bigfft v0.0.0-20230129092748-24d4a6f8daec // indirect
	github.com/riverqueue/river/rivershared v0.51.2 // indirect
	github.com/rivo/uniseg v0.4.7 // indirect
	github.com/rs/xid v1.6.0 // indirect
	github.com/russross/blackfriday/v2 v2.1.0 // indirect
	github.com/ryszard/goskiplist v0.0.0-20150312221310-2dfbae5fcf46 // indirect
	github.com/sethvargo/go-retry v0.5.0 // indirect
	github.com/tidwall/gjson v1.20.0 // indirect
	github.com/tidwall/match v1.2.0 // indirect
	github.com/tidwall/pretty v1.2.1 // indirect
	github.com/tidwall/sjson v1.2.5 // indirect
	github.com/tinylib/msgp v1.6.4 // indirect
	github.com/twitchyliquid64/golang-asm v0.15.1 // indirect
	github.com/twpayne/go-geom v1.6.1 // indirect
	github.com/ugorji/go/codec v1.3.1 // indirect
	github.com/zeebo/xxh3 v1.1.0 // indirect
	go.mongodb.org/mongo-driver/v2 v2.10.0 // indirect
	go.opentelemetry.io/auto/sdk v1.2.1 // indirect
	go.opentelemetry.io/otel/exporters/otlp/otlptrace v1.47.0 // indirect
	go.opentelemetry.io/otel/log v1.47.0 // indirect
	go.opentelemetry.io/otel/metric v1.47.0 // indirect
	go.shabbyrobe.org/gocovmerge v0.0.0-20230507111327-fa4f82cfbf4d // indirect
	go.uber.org/multierr v1.11.0 // indirect
	go.yaml.in/yaml/v3 v3.0.6 // indirect
	go.yaml.in/yaml/v4 v4.0.0 // indirect
	golang.org/x/arch v0.22.0 // indirect
	golang.org/x/crypto v0.59.0 // indirect
	golang.org/x/sync v0.25.0 // indirect
	golang.org/x/tools v0.52.0 // indirect
	google.golang.org/genproto/googleapis/api v0.0.0-20261110000943-09e21b237f2c // indirect
	google.golang.org/genproto/googleapis/rpc v0.0.0-20261110000943-09e21b237f2c // indirect
	google.golang.org/grpc v1.85.0 // indirect
	gopkg.in/ini.v1 v1.67.3 // indirect
	modernc.org/libc v1.80.2 // indirect
	modernc.org/mathutil v1.7.1 // indirect
	modernc.org/memory v1.12.1 // indirect
)
