import '@mantine/core/styles.css';
import './app/notebook.css';
import './app/answers.css';
import './app/touch.css';
import { MantineProvider } from '@mantine/core';
import { QueryClientProvider } from '@tanstack/react-query';
import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import { RouterProvider } from 'react-router/dom';
import { newQueryClient } from './api/useRequest.ts';
import { router } from './app/routes.tsx';
import { theme } from './app/theme.ts';
import { NoticeProvider } from './parts/Notices.tsx';
import { colourSchemeManager } from './settings/colourScheme.ts';

const root = document.getElementById('root');
if (root === null) throw new Error('The page has no element named root.');
createRoot(root).render(
  <StrictMode>
    <MantineProvider theme={theme} defaultColorScheme="auto" colorSchemeManager={colourSchemeManager()}>
      <QueryClientProvider client={newQueryClient()}>
        <NoticeProvider>
          <RouterProvider router={router} />
        </NoticeProvider>
      </QueryClientProvider>
    </MantineProvider>
  </StrictMode>,
);
