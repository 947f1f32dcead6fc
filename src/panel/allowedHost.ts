/**
 * Whether a request's Host header names this server: the address at which the connection arrived, or `localhost` on the computer itself. A
 * name that a stranger's page has pointed here (DNS rebinding) is neither.
 *
 * @param arrivedAt the connection's own end, as `socket.localAddress` gives it
 */
export function allowedHost(host: string | undefined, arrivedAt: string | undefined, port: number): boolean {
  if (host === undefined || arrivedAt === undefined) return false;
  const address = arrivedAt.replace(/^::ffff:/i, '');
  const names = /^127\./.test(address) ? [address, 'localhost'] : [address];
  return names.some((name) => host.toLowerCase() === `${name}:${port}` || (port === 80 && host.toLowerCase() === name));
}
