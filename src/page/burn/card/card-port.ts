import { type Answerers, createAnswering, createRemote } from '../../../base/remote/remote.ts';
import type { CardDevice, CardOrder } from './card-device.ts';

/** What is asked of a page that lends its card. */
interface CardQuestions {
  readonly orders: { readonly asks: { readonly orders: readonly CardOrder[] }; readonly gets: readonly Uint8Array[] };
}

/** The card of the page at the other end of a port. */
export function cardBehind(port: MessagePort): CardDevice {
  const remote = createRemote<CardQuestions>(({ onMessage }) => {
    port.onmessage = ({ data }) => onMessage(data);
    return {
      post: (message, transfer) => port.postMessage(message, transfer as Transferable[]),
      close: () => port.close(),
    };
  });
  return {
    run(orders) {
      const given = orders.flatMap((order) => (order.kind === 'fill' && order.given ? order.values.buffer : []));
      return remote.ask('orders', { orders }, { transfer: given }) as Promise<Uint8Array[]>;
    },
  };
}

/** Answers at this end of a port for a card that is here. */
export function lendCard(port: MessagePort, device: CardDevice): void {
  const answerers: Answerers<CardQuestions> = {
    async orders({ orders }) {
      const gets = await device.run(orders);
      return { gets, transfer: gets.map(({ buffer }) => buffer) };
    },
  };
  const answer = createAnswering(answerers, (message, transfer) =>
    port.postMessage(message, transfer as Transferable[]),
  );
  port.onmessage = ({ data }) => answer(data);
}
