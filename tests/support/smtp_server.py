"""A mail server that does what mail servers do: takes mail, refuses it, is slow, and breaks off.

The first line of output is its port; then one line of JSON for each message that it took. What it does hangs on
the receiver's name before the @:
  never...   refused for good (550)
  full...    refused for now twice, then taken (452)
  slow...    taken after a second
  lost...    taken, and the line cut before the answer, once a message
  early...   the line cut when the data comes, once a message
With --chaos N every N-th decision, by chance, is one of these for anybody.
"""
import argparse, asyncio, base64, collections, json, random, ssl, sys
from aiosmtpd.smtp import SMTP, AuthResult

args = argparse.ArgumentParser()
args.add_argument("--chaos", type=int, default=0)
args.add_argument("--luck", type=int, default=1)
args.add_argument("--certificate")
args.add_argument("--key")
args.add_argument("--implicit", action="store_true")
args.add_argument("--user")
args.add_argument("--password")
args = args.parse_args()
dice = random.Random(args.luck)
seen = collections.Counter()


class Handler:
    async def handle_RCPT(self, server, session, envelope, address, options):
        name = address.split("@")[0]
        if name.startswith("never"):
            return "550 5.1.1 no such person here"
        if name.startswith("full") and seen[address] < 2:
            seen[address] += 1
            return "452 4.2.2 mailbox full, try later"
        if args.chaos and dice.randrange(args.chaos) == 0:
            return "451 4.3.0 not now"
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 fine"

    async def handle_DATA(self, server, session, envelope):
        name = envelope.rcpt_tos[0].split("@")[0]
        head = envelope.content.decode("utf-8", "replace").split("\r\n\r\n")[0]
        lines = {l.split(":", 1)[0].lower(): l.split(":", 1)[1].strip() for l in head.split("\r\n") if ":" in l}
        own = lines.get("message-id", "")
        chance = dice.randrange(args.chaos) if args.chaos else -1
        if chance == 0 or (name.startswith("early") and seen["early" + own] == 0):
            seen["early" + own] += 1
            server.transport.abort()
            return "250 unheard"
        if name.startswith("slow"):
            await asyncio.sleep(1)
        print(json.dumps({"message_id": own, "to": envelope.rcpt_tos[0],
                          "content": base64.b64encode(envelope.content).decode()}), flush=True)
        if chance == 1 or (name.startswith("lost") and seen["lost" + own] == 0):
            seen["lost" + own] += 1
            server.transport.abort()
        return "250 2.0.0 taken"


def sign_in(server, session, envelope, mechanism, data):
    good = data.login == args.user.encode() and data.password == args.password.encode()
    return AuthResult(success=good, handled=False)


def one():
    tls = None
    if args.certificate and not args.implicit:
        tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        tls.load_cert_chain(args.certificate, args.key)
    need = bool(args.user)
    return SMTP(Handler(), tls_context=tls, require_starttls=tls is not None, auth_required=need,
                authenticator=sign_in if need else None, auth_require_tls=not args.implicit)


async def main():
    wrapped = None
    if args.implicit:
        wrapped = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        wrapped.load_cert_chain(args.certificate, args.key)
    server = await asyncio.get_running_loop().create_server(one, "127.0.0.1", 0, ssl=wrapped)
    print(server.sockets[0].getsockname()[1], flush=True)
    async with server:
        await server.serve_forever()

asyncio.run(main())
