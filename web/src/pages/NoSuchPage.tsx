import { Link } from 'react-router';
import { PageHead } from '../parts/PageHead.tsx';

export default function NoSuchPage() {
  return (
    <>
      <PageHead title="There is no such page" />
      <p>
        The address may be mistyped, or the thing was taken back. <Link to="/">To the first page</Link>.
      </p>
    </>
  );
}
