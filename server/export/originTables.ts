import type { ParameterSet } from '../contract/parameterSet.ts';
import { field, type PackageTable } from './packageTable.ts';

export function fitsTable(set: ParameterSet): PackageTable {
  return {
    name: 'fits',
    title: 'Fits',
    description: 'One row for each evaluation that the numbers rest on.',
    primaryKey: ['id'],
    fields: [
      {
        name: 'id',
        type: 'integer',
        description: 'Identifier of the fit',
        constraints: { required: true, unique: true },
      },
      field('kind', 'string', 'What was evaluated'),
      field('test_id', 'integer', 'Test that was evaluated'),
      field('algorithm', 'string', 'Name of the algorithm'),
      field('algorithm_version', 'string', 'Version of the algorithm'),
      field('created_at', 'datetime', 'When it was made, UTC'),
      field('created_by', 'string', 'Who made it'),
    ],
    rows: set.provenance.fits.map((fit) => [
      fit.id,
      fit.kind,
      fit.testId,
      fit.algorithm,
      fit.algorithmVersion,
      fit.createdAt,
      fit.createdBy,
    ]),
  };
}

export function filesTable(set: ParameterSet): PackageTable {
  return {
    name: 'files',
    title: 'Files',
    description: 'The imported files with their hashes.',
    primaryKey: ['id'],
    fields: [
      {
        name: 'id',
        type: 'integer',
        description: 'Identifier of the file',
        constraints: { required: true, unique: true },
      },
      field('name', 'string', 'Name of the file'),
      field('sha256', 'string', 'SHA-256 of its bytes'),
      field('imported_at', 'datetime', 'When it was imported, UTC'),
      field('imported_by', 'string', 'Who imported it'),
    ],
    rows: set.provenance.files.map((file) => [
      file.id,
      file.name,
      file.sha256,
      file.importedAt,
      file.importedBy,
    ]),
  };
}
