// The server's event stream, shared among tabs: a browser grants six connections to one host, so only the tab that holds
// the lock reads the stream and tells the others. When it closes, the next tab in the queue takes over.

export interface ServerEvent {
  name: string;
  data: unknown;
}

const kNames = ['progress', 'margins', 'result', 'project', 'outside', 'lost'] as const;

export function listen(on: (event: ServerEvent) => void, onLink: (up: boolean) => void): () => void {
  const channel = new BroadcastChannel('kitwright-events');
  const stop = new AbortController();
  channel.onmessage = (message: MessageEvent<ServerEvent | { link: boolean }>) => {
    if ('link' in message.data) onLink(message.data.link);
    else on(message.data);
  };
  const link = (up: boolean) => {
    onLink(up);
    channel.postMessage({ link: up });
  };
  navigator.locks
    .request(
      'kitwright-events',
      { signal: stop.signal },
      () =>
        new Promise<void>((done) => {
          const source = new EventSource('/api/events');
          source.onopen = () => link(true);
          source.onerror = () => link(false);
          for (const name of kNames) {
            source.addEventListener(name, (e) => {
              const event = { name, data: JSON.parse((e as MessageEvent<string>).data) as unknown };
              on(event);
              channel.postMessage(event);
            });
          }
          stop.signal.addEventListener('abort', () => {
            source.close();
            done();
          });
        }),
    )
    .catch(() => undefined);
  return () => {
    stop.abort();
    channel.close();
  };
}
