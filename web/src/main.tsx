import '@mantine/core/styles.css';
import './style.css';

import { MantineProvider } from '@mantine/core';
import { createRoot } from 'react-dom/client';

import { App } from './app.tsx';
import { theme } from './theme.ts';

createRoot(document.getElementById('root')!).render(
  <MantineProvider theme={theme} defaultColorScheme="auto">
    <App />
  </MantineProvider>,
);
