/* Blocks of the page's own file. */

export function block(id: string): string {
    return document.getElementById(id)?.textContent ?? '';
}

/** A block that is gzip in base64. */
export async function unpacked(id: string): Promise<ArrayBuffer> {
    const packed = Uint8Array.from(atob(block(id).trim()), (char) => char.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream('gzip'));
    return new Response(stream).arrayBuffer();
}
