/** The address of a database as it may be shown: without its password. */
export function withoutPassword(address: string): string {
  try {
    const url = new URL(address);
    url.password = '';
    url.searchParams.delete('password');
    return url.href;
  } catch {
    return 'postgresql://…';
  }
}
