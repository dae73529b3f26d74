import { type Database, DURABLE } from './database.ts';

/**
 * Lets go of images that nothing wants any more. It asks in the transaction that deletes them, and every record comes in one transaction
 * with its images, so none can be taken from under a record. A browser killed before leaves images that the next sweep finds.
 */
export async function sweepImages(database: Database): Promise<void> {
  const transaction = database.transaction(['pieces', 'codes', 'images'], 'readwrite', DURABLE);
  const images = transaction.objectStore('images');
  const wanting = [transaction.objectStore('pieces').index('images'), transaction.objectStore('codes').index('images')];
  for (const name of await images.getAllKeys()) {
    const counts = await Promise.all(wanting.map((index) => index.count(name)));
    if (counts.every((count) => count === 0)) await images.delete(name);
  }
  await transaction.done;
}
