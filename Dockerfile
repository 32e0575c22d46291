# syntax=docker/dockerfile:1

# The program is one static file: no libc, no shell, no package manager in the
# image that runs.
FROM golang:1.26.8-bookworm AS build
WORKDIR /src
# Dependencies first: they change less often than the code.
COPY go.mod go.sum ./
RUN go mod download && go mod verify
COPY . .
ARG VERSION=unreleased
RUN CGO_ENABLED=0 go build -trimpath -tags nomsgpack -ldflags "-s -w -X main.release=${VERSION}" -o /partwright .

FROM scratch
# Whom https is believed: webhooks, traces and databases are reached over it.
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/ca-certificates.crt
COPY --from=build /partwright /partwright
# Any unprivileged user will do: nothing is written, and no name is looked up.
USER 65532:65532
# Inside the container every address; who may reach it is decided outside, where
# the port is published. It starts only with PARTWRIGHT_ACCOUNTS=true and a
# database, or if PARTWRIGHT_ALLOW_ANYONE=true says that this was thought of. The
# operator's port serves metrics and health.
ENV PARTWRIGHT_ADDR=:8080 \
    PARTWRIGHT_OPERATOR_ADDR=:9464
EXPOSE 8080 9464
HEALTHCHECK --interval=10s --timeout=3s --start-period=2s --retries=3 \
    CMD ["/partwright", "healthcheck"]
ENTRYPOINT ["/partwright"]
CMD ["serve"]
