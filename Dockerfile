# Built in one image, run in a smaller one that holds no compiler.
FROM rust:1.95-slim-bookworm AS build
WORKDIR /build
COPY . .
RUN --mount=type=cache,target=/usr/local/cargo/registry \
    --mount=type=cache,target=/build/target \
    cargo build --locked --release --bin plantward && cp target/release/plantward /plantward

FROM debian:bookworm-slim
RUN useradd --system --no-create-home plantward
COPY --from=build /plantward /usr/local/bin/plantward
USER plantward
ENV PLANTWARD_LISTEN=0.0.0.0:8080 PLANTWARD_LOG=json
EXPOSE 8080
# The program stops by itself within 30 s of SIGTERM; give docker stop --time 40.
ENTRYPOINT ["plantward"]
CMD ["serve"]
