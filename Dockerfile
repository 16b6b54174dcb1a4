# Two stages: build the static binary, then put nothing but it into the image.
FROM golang:1.26-bookworm AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
ARG VERSION=
RUN make build VERSION=$VERSION && mkdir -p /out/data

FROM scratch
COPY --from=build /src/bin/ventdue /ventdue
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/ca-certificates.crt
COPY --from=build --chown=10001:10001 /out/data /data
USER 10001:10001
VOLUME /data
EXPOSE 8017
# Inside a container the pages must listen beyond loopback, so a password is needed: mount it as a secret.
ENV VENTDUE_DATA=/data \
    VENTDUE_WEB_LISTEN=0.0.0.0:8017 \
    VENTDUE_WEB_PASSWORD_FILE=/run/secrets/ventdue_password
HEALTHCHECK --interval=1m --timeout=10s --start-period=20s CMD ["/ventdue", "healthcheck"]
ENTRYPOINT ["/ventdue"]
CMD ["serve"]
